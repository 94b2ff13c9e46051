"""Sheets that go along with the work, put together from the register and the plan."""
