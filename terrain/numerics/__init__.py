"""Arrays in, arrays out: mathematics that knows no yard."""
