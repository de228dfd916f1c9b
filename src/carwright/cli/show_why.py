"""The working behind one number, as on paper: formula, numbers put in, result, then each input the same way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from json import dumps
from typing import Literal

from carwright.car.keys import key_named
from carwright.cli.page import plain, wrapped
from carwright.draw.arithmetic import BASIS_WORDS, UNIT_WORDS, on_paper, put_in, value_said
from carwright.draw.labels import name_said
from carwright.lengths import show_in
from carwright.plan import Document
from carwright.working import Working

__all__ = ["document_page", "path_lines", "paths_json", "why_json", "why_lines"]

Units = Literal["in", "mm"]

_DISTRIBUTION = {"rect": "rectangular", "normal": "normal", "tri": "triangular"}

_DEEPEST_INDENT = 28
"""Columns that are given up to show the depth of a working; deeper lines begin there too."""


_MOST_LINES = 200
"""What somebody reads on a screen; a longer tree is cut at a depth, which is said."""

_DEPTHS = (8, 6, 5, 4, 3, 2, 1)


def why_lines(path: str, working: Working, units: Units) -> Iterator[str]:
    """Yield the working at ``path`` as a tree, no line longer than 80 columns.

    A tree of more lines than one reads is told to a lesser depth, with a line that says so.

    Args:
        path: the number's path in the plan.
        working: the number.
        units: the reader's; lengths are computed in mm and told in both.
    """
    yield from wrapped(path)
    yield ""
    whole = list(_Tree(working, units).lines())
    if len(whole) <= _MOST_LINES:
        yield from whole
        return
    for depth in _DEPTHS:
        lines = list(_Tree(working, units, deepest=depth).lines())
        if len(lines) <= _MOST_LINES:
            break
    yield from lines
    yield ""
    yield from wrapped(f"{len(whole) - len(lines)} lines deeper are left out; --json tells them all.")


class _Tree:
    """Prints each working once; one that is met again gets a number the first time and is referred to by it."""

    def __init__(self, root: Working, units: Units, *, deepest: int | None = None) -> None:
        self.root = root
        self.units = units
        self.deepest = deepest
        self.met: Counter[object] = Counter()
        self.numbers: dict[object, int] = {}
        seen: set[object] = set()
        stack = [root]
        while stack:
            node = stack.pop()
            mark = _mark(node)
            self.met[mark] += 1
            if mark not in seen:
                seen.add(mark)
                stack.extend(node.inputs.values())

    def lines(self) -> Iterator[str]:
        """Yield the whole tree."""
        yield from self._node(self.root, "", 0)

    def _node(self, node: Working, symbol: str, depth: int) -> Iterator[str]:
        indent = " " * min(2 * depth, _DEEPEST_INDENT)
        lead = f"{indent}{symbol} = " if symbol else indent
        mark = _mark(node)
        number = self.numbers.get(mark)
        if number is not None:
            yield from wrapped(
                f"{self._named(node)}: {value_said(node, self.units)}, as in ({number}) above", first=lead
            )
            return
        if self.deepest is not None and depth >= self.deepest and not node.is_leaf:
            yield from wrapped(
                f"{self._named(node)}: {value_said(node, self.units)}", first=lead, rest=f"{indent}      "
            )
            return
        label = ""
        if self.met[mark] > 1:
            self.numbers[mark] = len(self.numbers) + 1
            label = f"({self.numbers[mark]}) "
        if node.is_leaf:
            yield from wrapped(label + self._leaf(node), first=lead, rest=f"{indent}      ")
            return
        yield from wrapped(f"{label}{self._named(node)}", first=lead, rest=f"{indent}      ")
        inner = f"{indent}  " if symbol else indent
        if node.inputs and node.formula not in node.inputs:
            yield from wrapped(on_paper(node.formula), first=f"{inner}= ")
            if node.function is None:
                yield from wrapped(put_in(node), first=f"{inner}= ")
        yield f"{inner}= {value_said(node, self.units)}"
        for remark in (node.note, f"by {node.source}" if node.source else ""):
            if remark:
                yield from wrapped(remark, first=f"{inner}  ")
        for name, each in node.inputs.items():
            yield from self._node(each, name, depth + 1)

    def _named(self, node: Working) -> str:
        return name_said(node.name)

    def _leaf(self, node: Working) -> str:
        if node.kind == "typed":
            return self._typed(node)
        if node.kind == "reference":
            known = BASIS_WORDS.get(node.basis, "")
            source = node.source if known and known in node.source else ", ".join(p for p in (node.source, known) if p)
            note = f" [{node.note.rstrip('.')}]" if node.note else ""
            return f"{self._named(node)}: {value_said(node, self.units)}, {source or 'source not recorded'}{note}"
        why = node.note.rstrip(".") or "no reason recorded"
        return f"{self._named(node)}: {value_said(node, self.units)}, chosen by the program: {why}"

    def _typed(self, node: Working) -> str:
        key = key_named(node.key)
        letter = f"{key.letter} " if key is not None and key.letter else ""
        line = f", line {node.line}" if node.line is not None else ""
        source = f" ({node.source})" if node.source and node.tolerance is None else ""
        told = f'{letter}{node.name}, {node.key}{line}: "{node.text}"{self._doubt(node)}{source}'
        return f"{told} = {value_said(node, self.units)}"

    def _doubt(self, node: Working) -> str:
        if node.tolerance is None:
            return ""
        size = node.tolerance.value
        if node.unit == "mm":
            told = show_in(size, self.units, tolerance_mm=size)
        else:
            told = f"{size:g} {UNIT_WORDS.get(node.unit, node.unit)}".strip()
        shape = _DISTRIBUTION.get(node.distribution, "")
        where = ", ".join(each for each in (node.source or node.tolerance.source, shape) if each)
        return f" ± {told}" + (f" ({where})" if where else "")


def _mark(node: Working) -> object:
    """Return what makes two workings one: a leaf's key, a derived number's identity."""
    return (node.kind, node.key) if node.is_leaf else id(node)


def document_page(
    document: Document, why: str | None, units: Units, *, json: bool, lines: Callable[[], Iterable[str]]
) -> str | Iterable[str]:
    """Return what a command answers: the working of one number, the list of them, or the whole document.

    Args:
        document: what was computed.
        why: path of a number, "list" for every path, or None.
        units: the reader's.
        json: whether it is for other programs.
        lines: returns the whole for a reader.
    """
    if why == "list":
        return dumps(paths_json(document), indent=2) if json else path_lines(document, units)
    if why is not None:
        working = document.find(why)
        return dumps(why_json(why, working), ensure_ascii=False, indent=2) if json else why_lines(why, working, units)
    return dumps(document.as_json(), ensure_ascii=False, indent=2) if json else lines()


def path_lines(document: Document, units: Units) -> Iterator[str]:
    """Yield every path with its value."""
    for path, working in document.numbers():
        value = value_said(working, units)
        yield f"{plain(path)}  {value}"


def paths_json(document: Document) -> dict[str, object]:
    """Return every path with its value and unit, as JSON values."""
    return {
        "paths": [{"path": path, "value": each.value, "unit": each.unit or None} for path, each in document.numbers()]
    }


def why_json(path: str, working: Working) -> dict[str, object]:
    """Return the working at ``path`` as a tree of JSON values."""
    return {"path": path, **_json(working)}


def _json(node: Working) -> dict[str, object]:
    found: dict[str, object] = {
        "value": node.value,
        "unit": node.unit or None,
        "name": node.name,
        "kind": node.kind,
        "note": node.note or None,
        "source": node.source or None,
    }
    if not node.is_leaf:
        found["formula"] = node.formula
        found["inputs"] = {symbol: _json(each) for symbol, each in node.inputs.items()}
        return found
    found |= {"key": node.key, "text": node.text or None, "line": node.line, "basis": node.basis or None}
    if node.tolerance is not None:
        found["tolerance"] = _json(node.tolerance)
        found["distribution"] = node.distribution
    return found
