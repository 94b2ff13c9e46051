"""The main job and what is asked of it: plans, what-ifs, past forecasts, age rules, calendars."""
