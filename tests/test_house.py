"""The house keeps its order: who may import whom, what a room may not touch, and how large a module may grow.

The rules are those of docs/design.md. The import graph is read from the source, so an import inside a function or under
TYPE_CHECKING counts like any other: an arrow that points out is wrong however late it is drawn.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

SOURCE = Path(__file__).resolve().parent.parent / "src" / "carwright"

GROUND = frozenset({"lengths", "findings", "working", "pieces", "records", "laminate", "problems", "reference"})
ROOMS = frozenset(
    {
        "car",
        "ride",
        "frame",
        "fasten",
        "track",
        "weight",
        "stock",
        "era",
        "lettering",
        "finish",
        "calendar",
        "lot",
        "gauge",
    }
)
ROOM_TO_ROOM = {"frame": frozenset({"fasten"}), "calendar": frozenset({"finish"})}
INWARD = {
    "plan": GROUND | ROOMS,
    "draw": GROUND | ROOMS | {"plan"},
    "book": GROUND | ROOMS | {"plan", "draw"},
    "shop": GROUND | ROOMS | {"plan", "draw"},
    "web": GROUND | ROOMS | {"plan", "draw", "book", "shop"},
    "cli": GROUND | ROOMS | {"plan", "draw", "book", "shop", "web"},
}
ROOT = frozenset({"__init__", "__main__"})
"""The package's own two files: its version, and the way in for ``python -m``."""

LARGEST_MODULE = 599
VAGUE_NAMES = frozenset({"utils", "util", "helpers", "helper", "common", "manager", "misc"})

FORBIDDEN_CALLS = frozenset({"open", "print", "input", "exec", "breakpoint"})
FORBIDDEN_IMPORTS = frozenset(
    {"getpass", "locale", "logging", "random", "secrets", "socket", "subprocess", "sys", "time"}
)
FILE_IMPORTS = frozenset({"io", "os", "shutil", "tempfile"})
FORBIDDEN_ATTRIBUTES = frozenset({"now", "today", "environ", "getenv"})
FILE_METHODS = frozenset({"open", "read_bytes", "read_text", "unlink", "write_bytes", "write_text"})
FILE_READERS = frozenset({"car", "reference"})
"""The only two below the plan that may touch files: car files are read and written, tables are read."""


@dataclass(frozen=True, slots=True)
class Module:
    """One source file of the package: its dotted name below the package, its part of the house, its tree."""

    name: str
    part: str
    path: Path
    tree: ast.Module


@cache
def modules() -> tuple[Module, ...]:
    """Return every module of the package."""
    found = []
    for path in sorted(SOURCE.rglob("*.py")):
        parts = path.relative_to(SOURCE).with_suffix("").parts
        name = ".".join(parts[:-1] if len(parts) > 1 and parts[-1] == "__init__" else parts)
        found.append(Module(name, parts[0], path, ast.parse(path.read_text(encoding="utf-8"), str(path))))
    return tuple(found)


def imported(module: Module) -> Iterator[tuple[str, int]]:
    """Yield each absolute name that a module imports, anywhere in it, with the line."""
    package = ["carwright", *module.path.relative_to(SOURCE).parts[:-1]]
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield alias.name, node.lineno
        elif isinstance(node, ast.ImportFrom):
            base = ".".join(package[: len(package) - node.level + 1]) if node.level else ""
            origin = ".".join(part for part in (base, node.module or "") if part)
            for alias in node.names:
                yield f"{origin}.{alias.name}", node.lineno


def own_imports(module: Module) -> Iterator[tuple[str, int]]:
    """Yield each module of ours that a module imports, named below the package, with the line."""
    known = {each.name for each in modules()}
    for name, line in imported(module):
        words = name.split(".")
        if words[0] != "carwright":
            continue
        inner = words[1:]
        while inner and ".".join(inner) not in known:
            inner = inner[:-1]
        yield ".".join(inner) or "__init__", line


def allowed(part: str) -> frozenset[str]:
    """Return the parts of the house that ``part`` may import, itself apart."""
    if part in GROUND:
        return GROUND
    if part in ROOMS:
        return GROUND | {"car"} | ROOM_TO_ROOM.get(part, frozenset())
    return frozenset(INWARD.get(part, frozenset()))


def place(module: Module, line: int) -> str:
    """Return file and line, as an editor opens them."""
    return f"{module.path.relative_to(SOURCE.parent.parent)}:{line}"


def test_every_part_of_the_house_is_known() -> None:
    """Each file and folder of the package is ground floor, room, plan or edge; there is no other kind."""
    known = GROUND | ROOMS | INWARD.keys() | ROOT
    assert {each.part for each in modules()} <= known


def test_imports_point_inward_only() -> None:
    """The ground floor imports only itself, a room ground floor and car, the plan rooms, an edge what is further in."""
    outward = [
        f"{place(module, line)} imports {name}"
        for module in modules()
        if module.part not in ROOT
        for name, line in own_imports(module)
        if name.split(".")[0] not in allowed(module.part) | {module.part, "__init__"}
    ]
    assert outward == []


def test_modules_do_not_import_in_a_circle() -> None:
    """No module is imported, at any remove, by what it imports; a package's own front page apart."""
    arrows = {
        module.name: {name for name, _ in own_imports(module)} - {module.name, "__init__"} for module in modules()
    }
    done: set[str] = set()

    def circle_from(name: str, way: tuple[str, ...]) -> tuple[str, ...]:
        if name in way:
            return (*way[way.index(name) :], name)
        if name in done:
            return ()
        for following in sorted(arrows.get(name, ())):
            if found := circle_from(following, (*way, name)):
                return found
        done.add(name)
        return ()

    assert [found for name in sorted(arrows) if (found := circle_from(name, ()))] == []


@pytest.mark.parametrize("part", sorted(ROOMS | GROUND))
def test_a_room_is_pure(part: str) -> None:
    """Ground floor and rooms print nothing and read no clock, environment, locale, chance or, tables apart, file."""
    slips = []
    for module in modules():
        if module.part != part:
            continue
        may_read = part in FILE_READERS
        for name, line in imported(module):
            if name.split(".")[0] in FORBIDDEN_IMPORTS | (frozenset() if may_read else FILE_IMPORTS):
                slips.append(f"{place(module, line)} imports {name}")
        for node in ast.walk(module.tree):
            if isinstance(node, ast.Call):
                called = node.func
                if isinstance(called, ast.Name) and called.id in FORBIDDEN_CALLS - ({"open"} if may_read else set()):
                    slips.append(f"{place(module, node.lineno)} calls {called.id}()")
                if isinstance(called, ast.Attribute) and called.attr in FILE_METHODS and not may_read:
                    slips.append(f"{place(module, node.lineno)} calls .{called.attr}()")
            if isinstance(node, ast.Attribute) and node.attr in FORBIDDEN_ATTRIBUTES:
                slips.append(f"{place(module, node.lineno)} uses .{node.attr}")
    assert slips == []


def test_no_module_is_too_long_to_hold_in_the_head() -> None:
    """Every module has fewer than 600 lines."""
    lengths = {place(each, 1): len(each.path.read_text(encoding="utf-8").splitlines()) for each in modules()}
    assert {name: lines for name, lines in lengths.items() if lines > LARGEST_MODULE} == {}


def test_no_module_has_a_name_that_says_nothing() -> None:
    """No module or folder is called utils, helpers, common, manager or the like."""
    assert [each.name for each in modules() if VAGUE_NAMES & set(each.name.split("."))] == []


def test_every_module_says_what_it_is() -> None:
    """Every module begins with a docstring."""
    assert [each.name for each in modules() if not ast.get_docstring(each.tree)] == []


def test_every_test_states_a_fact() -> None:
    """Every test function has a docstring of one sentence."""
    silent = []
    for path in sorted(Path(__file__).parent.rglob("test_*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_") and not ast.get_docstring(node):
                silent.append(f"{path.name}:{node.lineno} {node.name}")
    assert silent == []
