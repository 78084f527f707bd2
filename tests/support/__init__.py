"""Small builders shared by the tests."""
