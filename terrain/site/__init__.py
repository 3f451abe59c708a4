"""What was measured and what is wanted: reading and validating the site file and its measurement files."""
