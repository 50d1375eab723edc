"""The reader of a study: what varies, over which spans, and what a case's own spreads are."""
