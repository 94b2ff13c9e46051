"""Kits, the bench, and the cuts that are made for them."""
