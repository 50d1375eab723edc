"""What has been published, each with its source and how far to trust it, and what the program makes of it."""
