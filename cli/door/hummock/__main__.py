"""`python -m hummock`: the same as the `hummock` command."""

from cli.main import main

main()
