"""The arithmetic of a workbook's formulas, worked here too: readers that do not calculate show what it gives."""

from __future__ import annotations

import ast
import math
import operator
from collections.abc import Callable, Mapping
from statistics import NormalDist

Value = float | str
Look = Callable[[str], Value]

_OPERATORS: Mapping[type[ast.AST], Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}
_COMPARISONS: Mapping[type[ast.AST], Callable[[float, float], bool]] = {ast.Gt: operator.gt, ast.LtE: operator.le}


def worked(formula: str, look: Look) -> Value:
    """The value of a formula of a workbook (without its "=").

    Parameters
    ----------
    formula
        Numbers, texts in double quotes, names, + - * / ^, > and <=, and the functions IF, MIN, MAX, ABS, SQRT, SUM,
        ROUNDUP (to whole numbers), NORMSINV, NORMSDIST and PI.
    look
        Gives the value of a name.

    Raises
    ------
    ValueError
        If the formula holds anything else.
    """
    # A workbook writes powers as a^b, which binds as ** does here.
    return _value(ast.parse(formula.replace("^", "**"), mode="eval").body, look)


def _value(node: ast.expr, look: Look) -> Value:
    match node:
        case ast.Constant(value=int() | float() | str() as constant):
            return constant
        case ast.Name(id=name):
            return look(name)
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_number(operand, look)
        case ast.BinOp(left=left, op=sign, right=right) if type(sign) in _OPERATORS:
            return _OPERATORS[type(sign)](_number(left, look), _number(right, look))
        case ast.Call(func=ast.Name(id="IF"), args=[test, then, other]):
            return _value(then if _holds(test, look) else other, look)
        case ast.Call(func=ast.Name(id=name), args=arguments) if name in _FUNCTIONS:
            return _FUNCTIONS[name](*(_value(argument, look) for argument in arguments))
    raise ValueError(f"{ast.unparse(node)} is no arithmetic of a workbook")


def _number(node: ast.expr, look: Look) -> float:
    value = _value(node, look)
    if isinstance(value, str):
        raise ValueError(f"{ast.unparse(node)} is the text {value!r}, not a number")
    return value


def _holds(node: ast.expr, look: Look) -> bool:
    match node:
        case ast.Compare(left=left, ops=[sign], comparators=[right]) if type(sign) in _COMPARISONS:
            return _COMPARISONS[type(sign)](_number(left, look), _number(right, look))
    raise ValueError(f"{ast.unparse(node)} is no comparison of a workbook")


def _sum(*values: Value) -> float:
    """Texts count as nothing, as in a workbook."""
    return sum(value for value in values if not isinstance(value, str))


def _round_up(value: float, digits: float) -> float:
    """Away from zero, to whole numbers."""
    if digits != 0:
        raise ValueError("only whole numbers are rounded up to")
    return math.copysign(math.ceil(abs(value)), value)


_FUNCTIONS: Mapping[str, Callable[..., float]] = {
    "MIN": min,
    "MAX": max,
    "ABS": abs,
    "SQRT": math.sqrt,
    "SUM": _sum,
    "ROUNDUP": _round_up,
    "NORMSINV": lambda share: NormalDist().inv_cdf(share),
    "NORMSDIST": lambda value: NormalDist().cdf(value),
    "PI": lambda: math.pi,
}
