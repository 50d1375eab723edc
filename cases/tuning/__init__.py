"""The reader of targets for tuning."""
