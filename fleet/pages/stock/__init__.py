"""What to order, what is to come, counting, moving, who fails too often, and what is not known."""
