"""The shipped face: how wide words are, and which signs it has.

The face is IBM Plex Sans, regular and semibold (SIL Open Font License, ``fonts/OFL.txt``), carried with the program so
that a sheet looks the same on every machine. A sign that it lacks is shown as U+FFFD, never left out unseen.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from carwright.records import quickly_made

__all__ = [
    "BOLD_FAMILY",
    "CAP_HEIGHT",
    "FAMILY",
    "FONT_FOLDER",
    "FRACTION_SIZE",
    "Run",
    "in_lines",
    "run_width_mm",
    "runs",
    "shortened",
    "shown",
    "width_mm",
]

FAMILY: Final = "IBM Plex Sans"
BOLD_FAMILY: Final = "IBM Plex Sans SmBld"
"""The semibold's own family name, by which the typesetter knows it."""

CAP_HEIGHT: Final = 0.698
"""Height of figures and capitals, as a part of the letters' size (the font's own OS/2 table)."""

FRACTION_SIZE: Final = 0.74
"""Size of a stacked fraction's figures, as a part of the letters' size."""

FONT_FOLDER: Final = Path(__file__).parent / "fonts"

_MISSING: Final = "\ufffd"
_FILES: Final[Mapping[bool, str]] = {False: "IBMPlexSans-Regular.ttf", True: "IBMPlexSans-SemiBold.ttf"}


@quickly_made
@dataclass(frozen=True, slots=True)
class Run:
    """A piece of a line of words: plain ``text``, or a fraction to be stacked when ``below`` is not empty."""

    text: str
    below: str = ""


@cache
def _advances(bold: bool) -> Mapping[int, float]:
    """Return the width of every sign the face has, as a part of the letters' size."""
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]  # it ships no type information

    with TTFont(FONT_FOLDER / _FILES[bold], lazy=True) as font:
        per_em = font["head"].unitsPerEm
        metrics = font["hmtx"].metrics
        return {code: metrics[name][0] / per_em for code, name in font.getBestCmap().items()}


def shown(text: str) -> str:
    """Return the words as the face can show them: one line, each sign that it lacks replaced by U+FFFD."""
    known = _advances(False)
    one_line = " ".join(unicodedata.normalize("NFC", text).split())
    return "".join(sign if ord(sign) in known and sign.isprintable() else _MISSING for sign in one_line)


def runs(text: str) -> tuple[Run, ...]:
    """Return the words cut at their fractions, which are two whole numbers with a stroke between and nothing joined on.

    Example:
        >>> runs("1 11/32 in")
        (Run(text='1', below=''), Run(text='11', below='32'), Run(text=' in', below=''))
    """
    found: list[Run] = []
    place = 0
    for match in re.finditer(r"(?<![\w./-])(\d{1,3})/(\d{1,3})(?![\w/]|\.\d)", text):
        before = text[place : match.start()]
        if before[-1:] == " " and before[-2:-1].isdigit():
            before = before[:-1]
        if before:
            found.append(Run(before))
        found.append(Run(match[1], match[2]))
        place = match.end()
    if text[place:] or not found:
        found.append(Run(text[place:]))
    return tuple(found)


def run_width_mm(run: Run, size_mm: float, *, bold: bool = False) -> float:
    """Return how much room one run takes, in mm on paper, for letters of ``size_mm``."""
    if run.below:
        inner = max(_plain(run.text, bold), _plain(run.below, bold))
        return (inner * FRACTION_SIZE + 0.16) * size_mm
    return _plain(run.text, bold) * size_mm


def width_mm(text: str, size_mm: float, *, bold: bool = False) -> float:
    """Return how long a line of words is, in mm on paper, its fractions stacked."""
    return sum(run_width_mm(run, size_mm, bold=bold) for run in runs(shown(text)))


def shortened(text: str, limit_mm: float, size_mm: float, *, bold: bool = False) -> str:
    """Return the words, cut with an ellipsis where they would be longer than ``limit_mm``."""
    text = shown(text)
    if width_mm(text, size_mm, bold=bold) <= limit_mm:
        return text
    room = limit_mm - width_mm("\u2026", size_mm, bold=bold)
    used = 0.0
    for count, sign in enumerate(text):
        used += _plain(sign, bold) * size_mm
        if used > room:
            return text[:count].rstrip() + "\u2026"
    return text


def in_lines(text: str, limit_mm: float, size_mm: float, *, bold: bool = False) -> tuple[str, ...]:
    """Return the words in as many lines as they need to be no longer than ``limit_mm``; nothing of them is cut off.

    A word that is longer by itself is broken where the room ends.
    """
    lines: list[str] = []
    for word in shown(text).split():
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and width_mm(joined, size_mm, bold=bold) <= limit_mm:
            lines[-1] = joined
            continue
        rest = word
        while width_mm(rest, size_mm, bold=bold) > limit_mm:
            fits = (n for n in range(len(rest) - 1, 1, -1) if width_mm(rest[:n], size_mm, bold=bold) <= limit_mm)
            count = next(fits, 1)
            lines.append(rest[:count])
            rest = rest[count:]
            if len(rest) <= 1:
                break
        if rest:
            lines.append(rest)
    return tuple(lines) or ("",)


def _plain(text: str, bold: bool) -> float:
    known = _advances(bold)
    return sum(known.get(ord(sign), 0.6) for sign in text)
