"""Kits at the bench, builds recorded there, and what the old hose is."""
