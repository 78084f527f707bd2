"""What can be tested: the models of ``protocols/`` and their loader."""
