"""Set-out: where the crew's stakes go, how they are taped, and what is filled or cut at each."""
