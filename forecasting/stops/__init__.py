"""When to change what: due dates, the stops of each machine, their cost, and what it would pay to know."""
