"""How right past forecasts were: past days replayed, scored and told in words."""
