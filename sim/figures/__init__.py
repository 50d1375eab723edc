"""The trade's figures from motions: one definition each."""
