"""What lies ahead by that law: chances and their factors, failures by scope, groups that fail too much."""
