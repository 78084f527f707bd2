"""What is written: the plain-text note and the machine-readable assessment."""
