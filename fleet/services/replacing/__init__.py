"""What may go in the place of a hose: judged for its rating, found on the shelves when one bursts."""
