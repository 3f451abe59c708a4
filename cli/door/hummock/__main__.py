"""`python -m hummock`, and the `hummock` command: where a foreign package stands in the way it says so and ends."""

from __future__ import annotations

import sys

from hummock.own import in_the_way

_REFUSED = 2  # as for any other input that cannot be worked with


def main() -> None:
    """Run the command line and end the process."""
    wrong = in_the_way()
    if wrong:
        print(f"hummock: {wrong}", file=sys.stderr)
        sys.exit(_REFUSED)
    from cli.main import main as command

    command()


if __name__ == "__main__":
    main()
