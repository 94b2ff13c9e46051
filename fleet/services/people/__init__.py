"""Who belongs to an organization, how they come in, and their passwords."""
