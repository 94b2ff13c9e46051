"""What is not known, and entering it."""
