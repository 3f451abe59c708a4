"""The process that reads a foreign file: `python -m terrain.survey.readers.child BYTES SECONDS`.

A question comes on standard input, the answer goes to standard output (`terrain.survey.readers.carried`). It bounds
itself before it looks at the file: so much memory, so many seconds of work, no file written, no image of itself left.
"""

from __future__ import annotations

import json
import os
import sys
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from typing import Any

_LONGEST = 160  # characters of a library's own words


def bound(memory: int, seconds: int) -> None:
    """Bound this process where the system can: bytes of address space and seconds of work."""
    try:
        import resource
    except ImportError:  # not a Unix machine
        return
    bounds = {
        resource.RLIMIT_CORE: (0, 0),
        resource.RLIMIT_FSIZE: (0, 0),
        resource.RLIMIT_CPU: (seconds, seconds + 1),
        resource.RLIMIT_AS: (memory, memory),
    }
    for which, bound_to in bounds.items():
        with suppress(ValueError, OSError):  # a narrower bound stands already, or the system knows it by name alone
            resource.setrlimit(which, bound_to)


def answered(told: dict[str, Any]) -> bytes:
    """The answer to a question; every fault of a reader or of its library is one, in words."""
    from terrain.errors import InputError
    from terrain.survey.measured import Measured
    from terrain.survey.readers.apart import READERS
    from terrain.survey.readers.carried import answer, asked_of, plain_answer, refusal

    kind, label = READERS[told["reader"]], told["label"]
    try:
        read = import_module(f"terrain.survey.readers.{kind.reader}").read
        found = read(Path(told["path"]), label, asked_of(told["asked"]))
        if isinstance(found, bytes):
            return found
        return answer(found) if isinstance(found, Measured) else plain_answer(found)
    except InputError as error:
        return refusal(error.where, error.problem, error.accepted)
    except MemoryError:
        return refusal(label, "reading it takes more memory than a reader may have.", "Accepted: a smaller part of it.")
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # a panic of a compiled library is no Exception
        words = " ".join(str(error).split())[:_LONGEST].rstrip(".") or type(error).__name__
        return refusal(label, f"this is not a readable {kind.noun}: {words}.", kind.accepted)


def main(memory: str, seconds: str) -> None:
    """Answer the question on standard input."""
    bound(int(memory), int(seconds))
    with os.fdopen(os.dup(1), "wb") as out:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)  # what a library says of itself is no answer
        out.write(answered(json.loads(sys.stdin.buffer.read())))


if __name__ == "__main__":
    main(*sys.argv[1:3])
