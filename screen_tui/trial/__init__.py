"""The way through a screen: questions, tests in order, one trial at a time; pure."""
