"""What to order, what is to come, counting, moving, and what is not known."""
