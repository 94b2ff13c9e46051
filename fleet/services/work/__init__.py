"""What is done at a machine, recorded by the rules of a fleet folder."""
