"""What is due, deciding about it, and what is to be looked at."""
