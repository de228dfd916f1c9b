"""A small reader of DXF group codes, written from the format's own rule: a line with a code, a line with its value.

It knows nothing of the library that writes our files, so that what it reads is in the file and not in a library's mind.
"""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = ["Entity", "entities", "header", "layers"]


@dataclass
class Entity:
    """One entity: its kind and its groups in the order of the file."""

    kind: str
    groups: list[tuple[int, str]] = field(default_factory=list)

    def all(self, code: int) -> list[float]:
        """Return every value of a code, as numbers."""
        return [float(value) for given, value in self.groups if given == code]

    def text(self, code: int) -> str:
        """Return the first value of a code."""
        return next(value for given, value in self.groups if given == code)

    @property
    def layer(self) -> str:
        """Return the entity's layer."""
        return self.text(8)


def _pairs(data: bytes) -> list[tuple[int, str]]:
    lines = data.decode("utf-8").splitlines()
    return [(int(code), value) for code, value in zip(lines[0::2], lines[1::2], strict=True)]


def _section(data: bytes, name: str) -> list[tuple[int, str]]:
    pairs = _pairs(data)
    start = next(i for i, pair in enumerate(pairs) if pair == (2, name) and pairs[i - 1] == (0, "SECTION"))
    end = next(i for i, pair in enumerate(pairs) if i > start and pair == (0, "ENDSEC"))
    return pairs[start + 1 : end]


def entities(data: bytes) -> list[Entity]:
    """Return the entities of the file's own section of that name."""
    found: list[Entity] = []
    for code, value in _section(data, "ENTITIES"):
        if code == 0:
            found.append(Entity(value))
        else:
            found[-1].groups.append((code, value))
    return found


def header(data: bytes, variable: str) -> str:
    """Return the value of one header variable."""
    pairs = _section(data, "HEADER")
    place = next(i for i, pair in enumerate(pairs) if pair == (9, variable))
    return pairs[place + 1][1]


def layers(data: bytes) -> set[str]:
    """Return the names in the table of layers."""
    pairs = _section(data, "TABLES")
    names: set[str] = set()
    inside = False
    for code, value in pairs:
        if code == 0:
            inside = value == "LAYER"
        elif inside and code == 2:
            names.add(value)
    return names
