"""The report: a page, its sheets and its PDF."""
