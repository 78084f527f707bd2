"""What happened: the session model and its store."""
