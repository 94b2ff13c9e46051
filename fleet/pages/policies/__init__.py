"""What ways of working cost, the age rules, and how right past forecasts were."""
