"""What would be read at the keys of trains, what can be turned or be wrong there, and sheets made from both."""
