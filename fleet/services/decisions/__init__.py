"""What a person decides about changeouts and has looked at, one by one or for all of a group."""
