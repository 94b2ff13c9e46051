"""What is due, deciding about it, what is to be looked at, and calendars of it."""
