"""One's own account and organizations, who belongs to them, and coming in."""
