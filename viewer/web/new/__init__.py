"""The page of a new yard: what a hand types and taps is read here as on the terminal, and makes the same folder."""
