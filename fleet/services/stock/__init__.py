"""What lies on the shelves and what moves it."""
