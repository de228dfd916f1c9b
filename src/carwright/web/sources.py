"""Where a finding's limit comes from, as a whole sentence under the finding."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

__all__ = ["source_said"]

_TWO: Final = re.compile(r"height: (?P<height>.*); limit: (?P<limit>.*)")
_MEMORY: Final = re.compile(r"from memory, not read(?: \((?P<of>[^)]*)\))?(?:; confidence (?P<trust>\w+))?")
_CUSTOM: Final = re.compile(r"common practice(?: \((?P<told>.*)\)|, no source)?")
_ALONE: Final = {
    "": "",
    "geometry": "Worked out from the measurements alone; no limit is taken from elsewhere.",
    "the owner's own": "As you say it yourself.",
}


@lru_cache(maxsize=256)
def source_said(source: str) -> str:
    """Return a finding's source as a sentence of the page; "" where it names none.

    Example:
        >>> source_said("common practice, no source")
        'By common practice; no standard is known for it.'
        >>> source_said("NEM 302 Wagon mass; 2015; read")
        'By NEM 302 Wagon mass, 2015.'
    """
    if source in _ALONE:
        return _ALONE[source]
    two = _TWO.fullmatch(source)
    if two is not None and two["height"] == two["limit"]:
        return f"Height and limit by {_by(two['height'])}."
    if two is not None:
        return f"The height by {_by(two['height'])}. The limit by {_by(two['limit'])}."
    return f"By {_by(source)}."


def _by(source: str) -> str:
    custom = _CUSTOM.fullmatch(source)
    if custom is not None:
        return f"common practice, as told in: {custom['told']}" if custom["told"] else _UNSOURCED
    memory = _MEMORY.fullmatch(source)
    if memory is not None:
        of = f" ({memory['of']})" if memory["of"] else ""
        trust = " and little to be trusted" if memory["trust"] == "low" else ""
        return f"memory alone{of}, not looked up{trust}"
    parts = source.split("; ")
    if parts[-1] == "read":
        parts.pop()
    elif parts[-1] == "read in a quotation":
        parts[-1] = "read only where somebody quotes it"
    return ", ".join(parts)


_UNSOURCED: Final = "common practice; no standard is known for it"
