"""The map of the house, held by tests: who may import whom, how long a file may be, what lies on top."""

from __future__ import annotations

import ast
import shutil
import subprocess
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("terrain", "viewer", "cli")
LONGEST_FILE = 400
MOST_DECISIONS = 10
ON_TOP = {
    *PACKAGES,
    *("tests", "examples", "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "requirements.lock"),
}

# A module may import its own level and every level above its line here; the longest matching prefix decides.
LEVELS = (
    ("terrain.plain", "terrain.spellings", "terrain.in_one_piece"),
    (
        "terrain.errors",
        "terrain.grid",
        "terrain.extras",
        "terrain.findings",
        "terrain.limits",
        "terrain.tables",
        "terrain.units",
        "terrain.estimates",
        "terrain.expect",
        "terrain.fingerprint",
        "terrain.language",
    ),
    ("terrain.languages", "terrain.papers"),
    ("terrain.numerics", "terrain.earth"),
    (
        "terrain.site.model",
        "terrain.site.features",
        "terrain.site.soils",
        "terrain.site.crew",
        "terrain.site.drafting",
        "terrain.site.factors",
        "terrain.site.survey",
        "terrain.site.written",
        "terrain.site.ranges",
        "terrain.site.prices",
        "terrain.site.local",
        "terrain.site.storm",
        "terrain.site.things",
        "terrain.site.streams",
        "terrain.site.root_zones",
    ),
    ("terrain.survey",),
    ("terrain.site",),
    ("terrain.ground",),
    (
        "terrain.soil.model",
        "terrain.soil.supply",
        "terrain.soil.ranges",
        "terrain.soil.given",
        "terrain.soil.among",
        "terrain.soil.chain",
    ),
    ("terrain.shape", "terrain.soil.stone"),
    ("terrain.waterworks",),
    ("terrain.soil",),
    ("terrain.look",),
    ("terrain.review",),
    ("terrain.flow",),
    ("terrain.against", "terrain.planned", "terrain.root_check", "terrain.suggest"),
    ("terrain.field", "terrain.interview"),
    ("terrain.photograph",),
    ("terrain.files",),
    ("viewer.beside", "viewer.page", "viewer.still"),
    ("viewer.desk",),
    ("viewer.sheets",),
    ("viewer.pictures",),
    ("viewer.notebook", "viewer.plots"),
    ("viewer",),
    ("cli",),
)
# Drawing and talking belong to the edge: what each package may never import.
PICTURES = {"pyvista", "vtk", "vtkmodules", "matplotlib", "mpl_toolkits"}
BANNED = {
    "terrain": PICTURES | {"rich", "click", "viewer", "cli"},
    "viewer": {"rich", "click", "cli"},
    "cli": PICTURES,
}


def module_name(path: Path) -> str:
    """ "terrain.site.read" of terrain/site/read.py; a package stands for its __init__ file."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


SOURCES = {module_name(path): path for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py"))}


@cache
def nodes_of(name: str) -> tuple[ast.AST, ...]:
    """Everything that stands in the text of a module; the module itself comes first."""
    return tuple(ast.walk(ast.parse(SOURCES[name].read_text(encoding="utf-8"))))


@pytest.fixture(scope="module", autouse=True)
def _let_go() -> Iterator[None]:
    """The millions of parts are kept for the tests of this file alone."""
    yield
    nodes_of.cache_clear()


def functions_of(name: str) -> list[ast.FunctionDef | ast.AsyncFunctionDef]:
    return [node for node in nodes_of(name) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]


def faults(fault_of: Callable[[str], object], names: Iterable[str] = SOURCES) -> dict[str, object]:
    """What a law finds fault with in each of the modules, and only where it does: one test reads them all."""
    return {name: fault for name in names if (fault := fault_of(name))}


def offered(stub: Path) -> Iterator[tuple[str, str]]:
    """Each name at a room's door with the module that has it: one step, which may lead to the next room's door."""
    room = module_name(stub)
    for node in ast.parse(stub.read_text(encoding="utf-8")).body:
        assert isinstance(node, ast.ImportFrom)
        assert node.level == 1, f"{stub} line {node.lineno}: a door offers what lies in its own room"
        home = f"{room}.{node.module}" if node.module else room
        yield from ((alias.name, home) for alias in node.names)


# A room is a folder with a door: the stub beside its __init__ lists what it offers.
DOORS = {module_name(path): dict(offered(path)) for package in PACKAGES for path in (ROOT / package).rglob("*.pyi")}


def home_of(module: str, name: str) -> str:
    """The file that an imported name comes from, through as many doors as it takes."""
    home = DOORS.get(module, {}).get(name)
    if home is not None and home != module:
        return home_of(home, name)
    return f"{module}.{name}" if f"{module}.{name}" in SOURCES else module


def room_of(module: str) -> str:
    """The innermost room that a module lies in; a file beside the rooms is one of its own."""
    around = [door for door in DOORS if module == door or module.startswith(door + ".")]
    room = max(around, key=len, default=module)
    return module if room in PACKAGES else room


def imports(name: str) -> Iterator[str]:
    """Every module that the named one imports, anywhere in its text; down to the file where it is ours."""
    for node in nodes_of(name):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name} line {node.lineno}: relative import"
            yield from (home_of(str(node.module), alias.name) for alias in node.names)


@cache
def imported(name: str) -> tuple[str, ...]:
    return tuple(sorted(set(imports(name))))


def ours(name: str) -> list[str]:
    return [other for other in imported(name) if other in SOURCES]


def level(name: str) -> int:
    fits = [
        (len(prefix), rank)
        for rank, prefixes in enumerate(LEVELS)
        for prefix in prefixes
        if name == prefix or name.startswith(prefix + ".")
    ]
    assert fits, f"{name}: give it a place in LEVELS of {Path(__file__).name}"
    return max(fits)[1]


def test_imports_go_one_way() -> None:
    def upward(name: str) -> list[str]:
        door = name.startswith("cli.door.")  # it hands on all that `terrain` offers
        return [other for other in ours(name) if (not door if other == "terrain" else level(other) > level(name))]

    against = faults(upward, SOURCES.keys() - {"terrain"})
    assert not against, f"these must not import what stands beside them: {against}"


def test_nothing_is_taken_past_a_door() -> None:
    def past(name: str) -> list[tuple[int, str]]:
        return [
            (node.lineno, node.module)
            for node in nodes_of(name)
            if isinstance(node, ast.ImportFrom) and node.module in SOURCES
            if room_of(node.module) not in (node.module, room_of(name))
        ]

    assert not faults(past), f"import from the room itself, not from a file in it: {faults(past)}"


def test_a_door_offers_what_is_there_and_wanted_outside() -> None:
    wanted = {
        (node.module, alias.name)
        for name in SOURCES
        for node in nodes_of(name)
        if isinstance(node, ast.ImportFrom) and node.module in DOORS and room_of(name) != node.module
        for alias in node.names
    }

    def unused(room: str) -> set[str]:
        for name, home in DOORS[room].items():
            assert getattr(import_module(room), name) is not None, f"{room}.{name} is not in {home}"
        if (room, "*") in wanted:
            return set()
        return {name for name in DOORS[room] if (room, name) not in wanted} - set(DOORS["terrain"])

    assert not faults(unused, DOORS), (
        f"nobody outside asks these rooms for what stands beside them: {faults(unused, DOORS)}"
    )


def test_there_is_no_import_cycle() -> None:
    done: set[str] = set()

    def walk(name: str, path: tuple[str, ...]) -> None:
        assert name not in path, " -> ".join((*path, name))
        if name in done:
            return
        for other in ours(name):
            walk(other, (*path, name))
        done.add(name)

    for name in SOURCES:
        walk(name, ())


def test_each_package_keeps_to_its_trade() -> None:
    def strangers(name: str) -> set[str]:
        return {other.partition(".")[0] for other in imported(name)} & BANNED[name.partition(".")[0]]

    assert not faults(strangers), f"these must not import what stands beside them: {faults(strangers)}"


def test_the_library_never_prints() -> None:
    def prints(name: str) -> list[int]:
        calls = [node.func for node in nodes_of(name) if isinstance(node, ast.Call)]
        return [called.lineno for called in calls if isinstance(called, ast.Name) and called.id == "print"]

    printing = faults(prints, [name for name in SOURCES if name.startswith("terrain")])
    assert not printing, f"these print, on these lines: {printing}"


def test_no_file_is_too_long() -> None:
    files = [*SOURCES.values(), *(ROOT / "tests").rglob("*.py")]
    lengths = {str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines()) for path in files}
    over = {path: lines for path, lines in lengths.items() if lines > LONGEST_FILE}
    assert not over, f"split these by idea: {over}"


def decisions(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """One more than the branches of a function, loops and conditions of its comprehensions counted."""
    branching = (ast.If, ast.IfExp, ast.For, ast.AsyncFor, ast.While, ast.ExceptHandler, ast.Assert, ast.match_case)
    count = 1
    for node in ast.walk(function):
        count += isinstance(node, branching)
        if isinstance(node, ast.comprehension):
            count += 1 + len(node.ifs)
        elif isinstance(node, ast.BoolOp):
            count += len(node.values) - 1
    return count


def test_no_function_decides_too_many_things() -> None:
    def over(name: str) -> dict[str, int]:
        counts = {f"{node.name} (line {node.lineno})": decisions(node) for node in functions_of(name)}
        return {where: count for where, count in counts.items() if count > MOST_DECISIONS}

    assert not faults(over), f"split what decides more than {MOST_DECISIONS} things: {faults(over)}"


def test_no_class_name_stands_for_two_things() -> None:
    homes: dict[str, list[str]] = {}
    for name in SOURCES:
        for node in nodes_of(name):
            if isinstance(node, ast.ClassDef):
                homes.setdefault(node.name, []).append(name)
    twice = {name: found for name, found in homes.items() if len(found) > 1}
    assert not twice, f"name each class for what only it is: {twice}"


def test_nothing_is_kept_that_only_tests_call() -> None:
    used, kept = set(), {}
    for name in SOURCES:
        for node in nodes_of(name):
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
                used.add(node.id)
            elif isinstance(node, ast.Attribute):
                used.add(node.attr)
            elif isinstance(node, ast.Constant):  # commands and prices go by name
                used.add(str(node.value))
            elif isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("__"):
                kept[node.name] = name
    # click, the compiler and the writer of workbooks ask for these
    foreign = {"list_commands", "get_command", "on_start", "on_end", "_prepare_formula"}
    offered_to_all = {*DOORS["terrain"], *DOORS["viewer.notebook"], *DOORS["viewer.plots"]}  # by the door `hummock`
    left = {node: name for node, name in kept.items() if node not in used | foreign | offered_to_all}
    assert not left, f"nobody but a test calls {left}"


def public(body: list[ast.stmt]) -> Iterator[ast.FunctionDef | ast.ClassDef]:
    """Public functions and classes of a module, and the public methods of those classes."""
    for node in body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node
            if isinstance(node, ast.ClassDef):
                yield from public(node.body)


def test_everything_public_has_a_docstring() -> None:
    def bare(name: str) -> list[str]:
        module = nodes_of(name)[0]
        assert isinstance(module, ast.Module)
        found = [f"{node.name} (line {node.lineno})" for node in public(module.body) if not ast.get_docstring(node)]
        return found if ast.get_docstring(module) else [*found, "the module"]

    assert not faults(bare), f"no docstring on {faults(bare)}"


def test_the_top_level_holds_only_the_allowed_names() -> None:
    if shutil.which("git") is None or not (ROOT / ".git").exists():
        pytest.skip("not a git clone")
    listing = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True, text=True, timeout=30
    )
    on_top = {name.partition("/")[0] for name in listing.stdout.split("\0") if name}
    assert {name for name in on_top if not name.startswith(".")} <= ON_TOP
