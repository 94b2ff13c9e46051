"""What an assembly is made of, what that bears, and what its position asks of it."""
