"""What may stand in a place: what the place asks, which ends join there, and every candidate judged."""
