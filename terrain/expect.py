"""What a function of the library checks of what it is handed, with one sentence where it is something else."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import fields
from typing import Any, TypeGuard

import numpy as np

from terrain.errors import InputError

_NOISE = 1e-9  # metres: what rounding leaves of a figure that is never negative


def is_list(value: object) -> TypeGuard[Sequence[Any]]:
    """Whether a value of a site file is several values: a list of its text, or a tuple made in Python."""
    return isinstance(value, list | tuple)


def expect(call: str, **arguments: tuple[object, type | tuple[type, ...]]) -> None:
    """Refuse arguments of another kind than the call takes.

    Parameters
    ----------
    call
        Name of the function; opens the message.
    arguments
        What arrived and the type it must have, by the argument's name.

    Raises
    ------
    InputError
        For the first one that is of another type.
    """
    for name, (value, kind) in arguments.items():
        if not isinstance(value, kind):
            kinds = kind if isinstance(kind, tuple) else (kind,)
            raise InputError(
                f"{call}: {name}",
                f"a {type(value).__name__} arrived.",
                f"Accepted: a {' or a '.join(one.__name__ for one in kinds)}.",
            )


def expect_made_for(where: str, made_for: str, wanted: str, maker: str) -> None:
    """Refuse a value that another site was the source of, by its fingerprint; one made by hand ("") may pass."""
    if made_for and made_for != wanted:
        raise InputError(where, "it was made for another site.", f"Accepted: what {maker} answers for this site.")


def expect_number(where: str, value: object, least: float = -math.inf, most: float = math.inf) -> None:
    """Refuse what is no finite number from `least` to `most` (both in SI units)."""
    number = isinstance(value, int | float | np.integer | np.floating) and not isinstance(value, bool | np.bool_)
    if not number or not math.isfinite(value):  # type: ignore[arg-type]
        raise InputError(where, f"{value!r} is not a finite number.", "Accepted: a finite number in SI units.")
    if not least <= value <= most:  # type: ignore[operator]
        span = f"from {least:g} to {most:g}" if math.isfinite(least + most) else f"{least:g} or more"
        raise InputError(where, f"{value:g} is out of range.", f"Accepted: {span}, in SI units.")


def as_floats(where: str, value: object, accepted: str) -> np.ndarray[Any, Any]:
    """Numbers, nested in lists or as an array, as an array of floats; `InputError` for what holds anything else."""
    try:
        return np.asarray(value, dtype=float)
    except (TypeError, ValueError, OverflowError) as error:
        raise InputError(where, f"a {type(value).__name__} that is no table of numbers arrived.", accepted) from error


def expect_array(
    where: str, value: object, shape: tuple[int | None, ...], kind: type = np.floating, finite: bool = True
) -> None:
    """Refuse what is no array of a shape and kind, and one that holds a value that is not finite.

    Parameters
    ----------
    where
        Opens the message.
    value
        What arrived.
    shape
        The shape it must have; None stands for any length.
    kind
        The kind of its values: `np.floating` or `np.bool_`.
    finite
        False: somebody else tells of values that are not finite.
    """
    if not isinstance(value, np.ndarray) or not np.issubdtype(value.dtype, kind):
        what = f"an array of {value.dtype}" if isinstance(value, np.ndarray) else f"a {type(value).__name__}"
        word = "booleans" if kind is np.bool_ else "floating-point numbers"
        raise InputError(where, f"{what} arrived.", f"Accepted: a numpy array of {word}.")
    if not _fits(value.shape, shape):
        wanted = str(tuple("n" if want is None else int(want) for want in shape)).replace("'", "")
        raise InputError(where, f"it has the shape {value.shape}.", f"Accepted: the shape {wanted}.")
    missing = value.size - int(np.count_nonzero(np.isfinite(value))) if finite else 0
    if missing:
        raise InputError(
            where, f"{missing} of its {value.size} values are not finite.", "Accepted: a finite number at each place."
        )


def _fits(shape: tuple[int, ...], wanted: tuple[int | None, ...]) -> bool:
    """Whether a shape is the wanted one, in which None stands for any length."""
    return len(shape) == len(wanted) and all(want in (None, got) for got, want in zip(shape, wanted, strict=True))


def expect_never_negative(where: str, value: np.ndarray[Any, Any]) -> None:
    """Refuse depths of which one is below zero by more than rounding leaves."""
    least = float(value.min(initial=0.0))
    if least < -_NOISE:
        raise InputError(where, f"its least value is {least:g}.", "Accepted: 0 or more, in metres.")


def expect_finite_fields(where: str, value: Any) -> None:
    """Refuse a dataclass of which a float, also one inside a tuple or another dataclass, is not finite."""
    for name, figure in _figures(value):
        if not math.isfinite(figure):
            raise InputError(f"{where} {name}", f"it is {figure}, no finite number.", "Accepted: a finite number.")


def _figures(value: Any) -> Iterator[tuple[str, float]]:
    """Every float of a dataclass, with the name of its field."""
    for part in fields(value):
        held = getattr(value, part.name)
        for one in held if isinstance(held, tuple) else (held,):
            if isinstance(one, float):
                yield part.name, one
