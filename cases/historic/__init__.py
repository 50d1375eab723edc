"""The table [historic] of a case or an instrument: what is historic in an action, and what must stay."""
