"""What is on the screen; the only package that knows textual."""
