"""Draw an order sheet that comes in on standard input: run by `viewer.sheets.order_sheet`, in a process of its own."""

from __future__ import annotations

import pickle
import sys
from pathlib import Path

from viewer.sheets.order_page import draw_order
from viewer.sheets.order_sheet import DISK


def main() -> int:
    """Draw to the path that the first argument names; answers the exit status."""
    try:
        draw_order(pickle.load(sys.stdin.buffer), Path(sys.argv[1]))
    except OSError as error:
        print(error.errno or 0, file=sys.stderr)
        return DISK if error.errno else 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
