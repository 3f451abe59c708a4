"""What the crew does in a day: the steps with their amounts and hours, the way in, the soil in squares."""
