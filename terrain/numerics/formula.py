"""Formulas that are written once: worked with numbers or arrays, or written out as a workbook writes them.

A formula is a function of a value that has the names it needs as attributes. Given numbers it answers a number, given
arrays an array, given `Symbol`s the text of the formula in the notation of a workbook (ISO/IEC 29500).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from typing import Any

import numpy as np
from scipy.special import ndtr, ndtri

from terrain.grid import Array

Figure = Any  # a number, an array of numbers, or a Symbol
Formula = Callable[[Any], Figure]

# What is over a whole number of loads by less than this share of all is rounding in the arithmetic, not soil.
ROUNDING = 1e-12
_COMPARED, _SUM, _PRODUCT, _POWER, _WHOLE = range(5)


@dataclass(frozen=True, eq=False)
class Symbol:
    """A piece of a formula as text, and how tightly its last operation binds."""

    text: str
    binds: int = _WHOLE
    __array_ufunc__ = None  # numbers of numpy leave the operation to the symbol

    def _with(self, sign: str, other: Figure, binds: int, *, turned: bool = False) -> Symbol:
        left, right = (_symbol(other), self) if turned else (self, _symbol(other))
        # a - (b - c) and a / (b * c) keep their brackets; a + b + c needs none.
        inner = binds + (sign in "-/^")
        return Symbol(f"{left.inside(binds)}{sign}{right.inside(inner)}", binds)

    def inside(self, binds: int) -> str:
        """The text, in brackets where what stands round it binds more tightly."""
        return self.text if self.binds >= binds else f"({self.text})"

    def __add__(self, other: Figure) -> Symbol:
        return self._with("+", other, _SUM)

    def __radd__(self, other: Figure) -> Symbol:
        return self._with("+", other, _SUM, turned=True)

    def __sub__(self, other: Figure) -> Symbol:
        return self._with("-", other, _SUM)

    def __rsub__(self, other: Figure) -> Symbol:
        return self._with("-", other, _SUM, turned=True)

    def __mul__(self, other: Figure) -> Symbol:
        return self._with("*", other, _PRODUCT)

    def __rmul__(self, other: Figure) -> Symbol:
        return self._with("*", other, _PRODUCT, turned=True)

    def __truediv__(self, other: Figure) -> Symbol:
        return self._with("/", other, _PRODUCT)

    def __rtruediv__(self, other: Figure) -> Symbol:
        return self._with("/", other, _PRODUCT, turned=True)

    def __pow__(self, other: Figure) -> Symbol:
        return self._with("^", other, _POWER)

    def __gt__(self, other: Figure) -> Symbol:
        return self._with(">", other, _COMPARED)

    def __le__(self, other: Figure) -> Symbol:
        return self._with("<=", other, _COMPARED)

    def __ge__(self, other: Figure) -> Symbol:
        return self._with(">=", other, _COMPARED)


def _symbol(value: Figure) -> Symbol:
    return value if isinstance(value, Symbol) else Symbol(f"{value:.15g}".replace("e", "E"))


def _call(name: str, *values: Figure) -> Symbol:
    return Symbol(f"{name}({','.join(_symbol(value).text for value in values)})")


def _symbolic(*values: Figure) -> bool:
    return Symbol in map(type, values)


def least(*values: Figure) -> Figure:
    """The least of some values."""
    return _call("MIN", *values) if _symbolic(*values) else reduce(np.minimum, values)


def most(*values: Figure) -> Figure:
    """The greatest of some values."""
    return _call("MAX", *values) if _symbolic(*values) else reduce(np.maximum, values)


def size(value: Figure) -> Figure:
    """The value without its sign."""
    return _call("ABS", value) if _symbolic(value) else np.abs(value)


def root(value: Figure) -> Figure:
    """The square root."""
    return _call("SQRT", value) if _symbolic(value) else np.sqrt(value)


def either(test: Figure, then: Figure, other: Figure) -> Figure:
    """`then` where a comparison holds, else `other`; both are worked."""
    if _symbolic(test, then, other):
        return _call("IF", test, then, other)
    chosen: Figure = np.where(test, then, other)
    return chosen[()]


def whole(value: Figure) -> Figure:
    """Rounded up to a whole number; what is over by rounding of the arithmetic alone is not counted."""
    exact = value * (1 - ROUNDING)
    return _call("ROUNDUP", exact, 0) if _symbolic(value) else np.ceil(exact)


def quantile(share: Figure) -> Figure:
    """Standard deviations over the middle under which a share of all normal values lies."""
    return _call("NORMSINV", share) if _symbolic(share) else ndtri(share)


def share_below(value: Figure) -> Figure:
    """Share of all normal values under so many standard deviations over the middle."""
    return _call("NORMSDIST", value) if _symbolic(value) else ndtr(value)


def along(x: Figure, across: Sequence[Figure], up: Sequence[Figure]) -> Figure:
    """The height over `x` of the line through some places, level past its ends; `across` never falls."""
    if not _symbolic(x, *across, *up) and all(np.ndim(one) == 0 for one in (x, *across, *up)):
        return _along_numbers(float(x), np.array(across), np.array(up))
    height = up[0]
    for k in range(len(across) - 1):
        wide = across[k + 1] - across[k]
        share = least(1, most(0, (x - across[k]) / either(wide > 0, wide, 1)))
        height = height + (up[k + 1] - up[k]) * either(x > across[k], share, 0)
    return height


def _along_numbers(x: float, across: Array, up: Array) -> np.float64:
    """The same for one place, in one go."""
    wide, past = np.diff(across), x - across[:-1]
    share = np.clip(past / np.where(wide > 0, wide, 1), 0, 1)
    return np.float64(up[0] + np.diff(up) @ np.where(past > 0, share, 0))


class Values:
    """Figures that are given and figures that follow from them, each worked when it is first asked for.

    Parameters
    ----------
    given
        Numbers or arrays (n,) by name.
    formulas
        What follows, by name.
    """

    def __init__(self, given: Mapping[str, Figure], formulas: Mapping[str, Formula]) -> None:
        self._known = {
            name: np.float64(value) if np.ndim(value) == 0 else np.asarray(value) for name, value in given.items()
        }
        self._formulas = formulas

    def __getattr__(self, name: str) -> Figure:
        known = self._known
        if name not in known:
            if name not in self._formulas:
                raise AttributeError(name)
            known[name] = self.of(self._formulas[name])
        return known[name]

    def of(self, formula: Formula) -> Figure:
        """The value of any formula in these names."""
        # The branch that is not taken may divide by nothing.
        with np.errstate(divide="ignore", invalid="ignore"):
            return formula(self)


class Names:
    """Names that stand for themselves, or for the cells that a mapping gives: what a formula is written out from."""

    def __init__(self, name_of: Callable[[str], str]) -> None:
        self._name_of = name_of

    def __getattr__(self, name: str) -> Symbol:
        return Symbol(self._name_of(name))


def written(formula: Formula, name_of: Callable[[str], str]) -> str:
    """A formula as a workbook writes it, without its "="; `name_of` gives the cell or name that stands for a name."""
    return _symbol(formula(Names(name_of))).text
