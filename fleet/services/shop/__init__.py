"""Kits, the bench, the cuts that are made for them, and what an old hose is."""
