"""What each command takes, apart from its work, so that help and complaints come at once."""
