"""Words typed into calls, values into words."""
