"""What is on each screen, as rows of text; pure, so that it can be read without a terminal."""
