"""What a person decides about changeouts and has looked at."""
