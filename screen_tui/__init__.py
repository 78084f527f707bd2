"""A chairside knee screen for the terminal."""

__version__ = "0.1.0"
