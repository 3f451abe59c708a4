"""Every text that a place in the code can say, read out of the code: no yard need bring it about.

A text is followed as far as the code shows it: a name to what it is set to in its function, a parameter to what callers
hand over, a choice to both its sides, a call to what functions of that name answer, a field to what its class is built
with. What cannot be followed stands for a name of the yard or a figure, and is tried as both.
"""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import islice, product
from pathlib import Path

NAME, FIGURE, OPEN = "Zed", "7", "\0"
# What functions answer that show a measure, or names of the yard.
SHOWN = {
    "show_length": "3 ft 4 in",
    "show_volume": "2.5 cu yd",
    "show_area": "12 sq ft",
    "show_slope": "4.0:1 (25 %)",
    "show_place": "x 3.00, y 4.00",
    "show_span": "2 to 3 in",
    "show_mass": "40 lb",
    "show_about": "40 gal",
    "show_figure": "40 gal (30 to 50)",
    "show_side": "north-east",
    "show_tape": "3 ft 4 in",
    "rod_words": "3.25",
    "percent": "12 %",
    "_percent": "12 %",
    "_both": "7 ft (2.0 m)",
    "percent_apart": "12.5 %",
    "listed": "Zed and Zed",
    "as_written": NAME,
    "round": FIGURE,
    "len": FIGURE,
    "str": OPEN,
    "point_key": NAME,
}
OPEN_FIELDS = {"name", "kind", "by", "licence", "date", "site", "key", "units"}  # what the user writes
MOST = 40  # texts of one place
DEEPEST = 7
Where = ast.AST  # the function in which an expression stands
Made = tuple[ast.expr, Where]


class Code:
    """Functions, calls and constants of some files, by their names."""

    def __init__(self, paths: Iterable[Path]) -> None:
        self.functions: dict[str, list[ast.FunctionDef]] = defaultdict(list)
        self.calls: dict[str, list[tuple[ast.Call, Where]]] = defaultdict(list)
        self.constants: dict[str, list[Made]] = defaultdict(list)
        self.fields: dict[str, list[tuple[str, int, str]]] = defaultdict(list)  # class, place, folder
        self.files: dict[Where, str] = {}
        for path in paths:
            tree = ast.parse(path.read_text(encoding="utf-8"))
            self.files[tree] = str(path)
            self._read(tree, tree)

    def _read(self, node: ast.AST, scope: Where) -> None:
        for child in ast.iter_child_nodes(node):
            inner = scope
            self.files.setdefault(child, self.files[scope])
            if isinstance(child, ast.FunctionDef):
                self.functions[child.name].append(child)
                inner = child
                self.files[child] = self.files[scope]
            elif isinstance(child, ast.ClassDef):
                names = [one.target.id for one in child.body if isinstance(one, ast.AnnAssign) and _is_name(one.target)]  # type: ignore[union-attr]
                for place, name in enumerate(names):
                    self.fields[name].append((child.name, place, self._folder(scope)))
            elif isinstance(child, ast.Call):
                self.calls[_called(child)].append((child, scope))
            if isinstance(scope, ast.Module) and isinstance(child, ast.stmt):
                for name, value in _set_to(child):
                    self.constants[name].append((value, scope))
            self._read(child, inner)

    def handed(self, function: str, place: int, keyword: str) -> Iterator[Made]:
        """What every call of a function hands over at a place or under a keyword."""
        for call, scope in self.calls[function]:
            named = [one.value for one in call.keywords if one.arg == keyword]
            if len(call.args) > place:
                yield call.args[place], scope
            elif named:
                yield named[0], scope

    def answers(self, name: str) -> Iterator[Made]:
        """What the functions of a name answer."""
        for function in self.functions[name]:
            yield from ((value, function) for value in _answers(function))

    def near(self, name: str, scope: Where) -> list[ast.FunctionDef]:
        """The functions of a name: those of the same file where it is private."""
        found = self.functions[name]
        return [one for one in found if self.files[one] == self.files[scope]] if name.startswith("_") else found

    def texts(self, made: Made) -> list[str]:
        """Every text that an expression may be, OPEN standing for what the code does not show."""
        return list(dict.fromkeys(islice(self._texts(made[0], made[1], 0), MOST)))

    def _texts(self, node: ast.expr, scope: Where, depth: int) -> Iterator[str]:
        if depth > DEEPEST:
            yield OPEN
            return
        read = _READERS.get(type(node))
        found = False
        for text in read(self, node, scope, depth) if read else ():
            found = True
            yield text
        if not found:
            yield OPEN

    def sums(self, parts: Sequence[ast.expr], scope: Where, depth: int) -> Iterator[str]:
        """Each part as it may be, the others as they are first: every text of a part is seen once."""
        each = [list(dict.fromkeys(islice(self._texts(part, scope, depth), MOST))) for part in parts]
        first = [one[0] for one in each]
        yield "".join(first)
        for k, others in enumerate(each):
            yield from ("".join([*first[:k], other, *first[k + 1 :]]) for other in others[1:])

    def called(self, node: ast.Call, scope: Where, depth: int) -> Iterator[str]:
        """What a call answers."""
        name = _called(node)
        if name in SHOWN:
            yield SHOWN[name]
        elif name == "join" and isinstance(node.func, ast.Attribute) and node.args:
            yield from self._joined(node.args[0], scope, depth)
        elif name in ("next", "min", "max", "sorted", "list", "tuple", "iter") and node.args:
            yield from self._texts(node.args[0], scope, depth + 1)
        else:
            for function in self.near(name, scope):
                for value in _answers(function):
                    yield from self._texts(value, function, depth + 1)

    def _joined(self, node: ast.expr, scope: Where, depth: int) -> Iterator[str]:
        yield from self._texts(node, scope, depth + 1)

    def named(self, node: ast.Name, scope: Where, depth: int) -> Iterator[str]:
        """What a name is set to in its function, is handed over as, or is set to at the top of a file."""
        values: list[Made] = [(value, scope) for value in _assigned(scope, node.id)]
        place = _parameter(scope, node.id)
        if not values and place is not None and isinstance(scope, ast.FunctionDef):
            values = [one for one in self.handed(scope.name, place, node.id) if self._sees(one[1], scope)]
        if not values and place is None:
            values = self.constants[node.id]
        for value, where in values:
            yield from self._texts(value, where, depth + 1)

    def _folder(self, scope: Where) -> str:
        return str(Path(self.files[scope]).parent)

    def _sees(self, caller: Where, function: ast.FunctionDef) -> bool:
        return not function.name.startswith("_") or self.files[caller] == self.files[function]

    def held(self, node: ast.Attribute, scope: Where, depth: int) -> Iterator[str]:
        """What a field of that name is built with, where the code writes it out; what such a property answers."""
        if node.attr in OPEN_FIELDS:
            return
        # What other rooms build is theirs to say: their texts come in by their own calls.
        own = [one for one in self.fields[node.attr] if one[2] == self._folder(scope)]
        for owner, place, _ in own:
            for value, where in self.handed(owner, place, node.attr):
                if not isinstance(value, ast.Name | ast.Attribute):
                    yield from self._texts(value, where, depth + 1)
        for function in self.functions[node.attr]:
            for value in _answers(function):
                yield from self._texts(value, function, depth + 1)

    def picked(self, node: ast.Subscript, scope: Where, depth: int) -> Iterator[str]:
        """One of a dictionary's values; one of the values that a function answers together."""
        place = node.slice.value if isinstance(node.slice, ast.Constant) else None
        if isinstance(place, int):
            for value, where in self._tuples(node.value, scope):
                yield from self._texts(value.elts[place], where, depth + 1)
        elif not isinstance(node.slice, ast.Slice):
            yield from self._texts(node.value, scope, depth + 1)

    def _tuples(self, node: ast.expr, scope: Where) -> Iterator[tuple[ast.Tuple, Where]]:
        """The tuples that an expression may be."""
        if isinstance(node, ast.Tuple):
            yield node, scope
        elif isinstance(node, ast.IfExp):
            yield from self._tuples(node.body, scope)
            yield from self._tuples(node.orelse, scope)
        elif isinstance(node, ast.Call):
            for function in self.near(_called(node), scope):
                for value in _answers(function):
                    yield from self._tuples(value, function)


Reader = Callable[[Code, ast.AST, Where, int], Iterator[str]]


def _constant(code: Code, node: ast.AST, scope: Where, depth: int) -> Iterator[str]:
    value = node.value  # type: ignore[attr-defined]
    yield value if isinstance(value, str) else FIGURE


def _formatted(code: Code, node: ast.AST, scope: Where, depth: int) -> Iterator[str]:
    figure = node.format_spec is not None  # type: ignore[attr-defined]
    yield from [FIGURE] if figure else code._texts(node.value, scope, depth + 1)  # type: ignore[attr-defined]


def _either(code: Code, node: ast.AST, scope: Where, depth: int) -> Iterator[str]:
    yield from code._texts(node.body, scope, depth)  # type: ignore[attr-defined]
    yield from code._texts(node.orelse, scope, depth)  # type: ignore[attr-defined]


def _each(code: Code, node: ast.AST, scope: Where, depth: int) -> Iterator[str]:
    for one in getattr(node, "elts", None) or getattr(node, "values", ()):
        if not isinstance(one, ast.Constant) or isinstance(one.value, str):
            yield from code._texts(one, scope, depth + 1)


def _element(code: Code, node: ast.AST, scope: Where, depth: int) -> Iterator[str]:
    yield from code._texts(node.elt, scope, depth + 1)  # type: ignore[attr-defined]


def _added(code: Code, node: ast.AST, scope: Where, depth: int) -> Iterator[str]:
    if isinstance(node.op, ast.Add):  # type: ignore[attr-defined]
        yield from code.sums([node.left, node.right], scope, depth)  # type: ignore[attr-defined]


_READERS: dict[type, Reader] = {
    ast.Constant: _constant,
    ast.JoinedStr: lambda code, node, scope, depth: code.sums(node.values, scope, depth),  # type: ignore[attr-defined]
    ast.FormattedValue: _formatted,
    ast.BinOp: _added,
    ast.IfExp: _either,
    ast.BoolOp: _each,
    ast.List: _each,
    ast.Tuple: _each,
    ast.Dict: _each,
    ast.Set: _each,
    ast.Starred: lambda code, node, scope, depth: code._texts(node.value, scope, depth + 1),  # type: ignore[attr-defined]
    ast.GeneratorExp: _element,
    ast.ListComp: _element,
    ast.Call: lambda code, node, scope, depth: code.called(node, scope, depth),  # type: ignore[arg-type]
    ast.Name: lambda code, node, scope, depth: code.named(node, scope, depth),  # type: ignore[arg-type]
    ast.Attribute: lambda code, node, scope, depth: code.held(node, scope, depth),  # type: ignore[arg-type]
    ast.Subscript: lambda code, node, scope, depth: code.picked(node, scope, depth),  # type: ignore[arg-type]
    ast.Lambda: lambda code, node, scope, depth: code._texts(node.body, scope, depth + 1),  # type: ignore[attr-defined]
}


def filled(text: str) -> Iterator[str]:
    """A text with what the code does not show as names and as figures, in every mixture of the first four."""
    parts = text.split(OPEN)
    blanks = min(len(parts) - 1, 4)
    for mixture in product((NAME, FIGURE), repeat=blanks):
        fills = [*mixture, *[NAME] * (len(parts) - 1 - blanks), ""]
        yield "".join(part + fill for part, fill in zip(parts, fills, strict=True))


def _is_name(node: ast.AST) -> bool:
    return isinstance(node, ast.Name)


def _called(node: ast.Call) -> str:
    func = node.func
    return func.id if isinstance(func, ast.Name) else func.attr if isinstance(func, ast.Attribute) else ""


def _answers(function: ast.FunctionDef) -> Iterator[ast.expr]:
    for node in ast.walk(function):
        if isinstance(node, ast.Return | ast.Yield | ast.YieldFrom) and node.value is not None:
            yield node.value


def _set_to(node: ast.stmt) -> Iterator[tuple[str, ast.expr]]:
    """Names and what one statement sets them to, tuples taken apart."""
    if isinstance(node, ast.AnnAssign | ast.AugAssign) and isinstance(node.target, ast.Name) and node.value is not None:
        yield node.target.id, node.value
    elif isinstance(node, ast.Assign):
        for target in node.targets:
            yield from _apart(target, node.value)


def _apart(target: ast.expr, value: ast.expr) -> Iterator[tuple[str, ast.expr]]:
    if isinstance(target, ast.Name):
        yield target.id, value
    elif isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
        for one, part in zip(target.elts, value.elts, strict=False):
            yield from _apart(one, part)
    elif isinstance(target, ast.Tuple):
        for k, one in enumerate(target.elts):
            yield from _apart(one, ast.Subscript(value, ast.Constant(k)))


def _assigned(scope: Where, name: str) -> list[ast.expr]:
    """What a name is set to in a function."""
    steps = (
        [node for node in ast.walk(scope) if isinstance(node, ast.stmt)] if not isinstance(scope, ast.Module) else []
    )
    return [value for node in steps for one, value in _set_to(node) if one == name]


def _parameter(scope: Where, name: str) -> int | None:
    """The place of a parameter of a function."""
    names = [one.arg for one in scope.args.args] if isinstance(scope, ast.FunctionDef) else []
    return names.index(name) if name in names else None
