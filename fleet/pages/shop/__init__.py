"""What the shop builds and cuts, and the sheets that go along."""
