"""Work shared out to processes."""
