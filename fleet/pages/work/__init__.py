"""Work at a machine, from a tag, a day's form or a round of the meters."""
