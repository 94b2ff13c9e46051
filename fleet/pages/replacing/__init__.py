"""What may go in the place of a hose, and what there is when one bursts."""
