"""What that takes: kits, cuts off real pieces, stock at each site and moves between sites."""
