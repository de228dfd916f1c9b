"""A track file: segments in the order in which a train meets them, read with every slip named by segment and line.

Words: *straight*; *curve*, an arc of one radius; *easement*, a leg whose curvature grows from nothing (``out``: falls
to nothing); *turnout*, its diverging way from the points to the frog (``out``: from the frog to the points). Hands are
the train's own, except that a turnout's hand is the way it diverges seen from its points.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

from carwright import reference
from carwright.car.document import Cell, Node, Table, decoded, document_of
from carwright.car.statements import TypedFloat
from carwright.lengths import parse_angle, parse_length
from carwright.problems import InputError, Problem
from carwright.working import Working, typed

__all__ = ["KINDS", "Kind", "Segment", "Track", "read_track"]

Kind = Literal["straight", "curve", "easement", "turnout"]
"""What a segment is."""

KINDS: Final[tuple[Kind, ...]] = ("straight", "curve", "easement", "turnout")

MOST_SEGMENTS: Final = 400
LONGEST_PATH_MM: Final = 200_000.0
"""200 m of model track: beyond it a digit has slipped."""

_ACCEPTED: Final[dict[Kind, tuple[str, ...]]] = {
    "straight": ("straight", "name"),
    "curve": ("curve", "radius", "angle", "length", "name"),
    "easement": ("easement", "radius", "length", "out", "form", "name"),
    "turnout": ("turnout", "frog", "points", "radius", "out", "name"),
}
_EXAMPLES: Final[dict[Kind, str]] = {
    "straight": 'straight = "24 in"',
    "curve": 'curve = "left", radius = "18 in", angle = 90',
    "easement": 'easement = "left", radius = "18 in", length = "8 in"',
    "turnout": 'turnout = "left", frog = 6',
}


@dataclass(frozen=True, slots=True)
class Segment:
    """One segment; its sizes are leaves, None where they do not belong to it or are not given.

    Args:
        number: counted from 1.
        line: of the file, 0 where there is no file.
        kind: see ``Kind``.
        left: the hand; True for a straight.
        length: of a straight or easement; of a curve that has no angle.
        radius: of a curve or easement; a turnout's closure radius.
        angle: of a curve, degrees.
        frog: a turnout's frog number.
        points: straight from a turnout's points to where its arc begins.
        out: see the module's head.
        form: of an easement.
        name: in the owner's words, or "".
    """

    number: int
    line: int
    kind: Kind
    left: bool = True
    length: Working | None = None
    radius: Working | None = None
    angle: Working | None = None
    frog: Working | None = None
    points: Working | None = None
    out: bool = False
    form: Literal["clothoid", "cubic"] = "clothoid"
    name: str = ""

    @property
    def leaves(self) -> tuple[Working, ...]:
        """Return the sizes that are given."""
        sizes = (self.length, self.radius, self.angle, self.frog, self.points)
        return tuple(each for each in sizes if each is not None)


@dataclass(frozen=True, slots=True)
class Track:
    """A track: its name, its scale as the data knows it ("" where none is given), and its segments."""

    name: str
    scale: str
    segments: tuple[Segment, ...]


def read_track(
    data: bytes | str,
    *,
    file: str = "",
    scale: str = "HO",
    standard: str = "NMRA",
    units: Literal["in", "mm"] = "in",
) -> Track:
    """Return the track that a file's text describes.

    Args:
        data: the file's bytes or text.
        file: its name, for problems.
        scale: the car's; taken where the file names none.
        standard: the car's, for lengths in scale feet.
        units: of a bare number, where the file names none.

    Raises:
        InputError: all problems of the file at once; each names the segment, counted from 1, and its line.
    """
    raw = data.encode("utf-8", "surrogatepass") if isinstance(data, str) else data
    root, slips = document_of(decoded(raw, file=file))
    reader = _Reader(file, [replace(slip, file=file) for slip in slips])
    track = reader.track(root, scale, standard, units)
    if reader.problems:
        raise InputError(sorted(reader.problems, key=lambda each: (each.line or 0, each.column or 0)))
    return track


class _Reader:
    """Reads one track file and collects every problem."""

    def __init__(self, file: str, problems: list[Problem]) -> None:
        self.file = file
        self.problems = problems
        self.units: Literal["in", "mm"] = "in"
        self.ratio = 87.1

    def refuse(self, node: Node | None, key: str, problem: str, accepted: str = "", mend: str = "") -> None:
        first = node[0] if isinstance(node, list) else node
        cell = first if isinstance(first, Cell) else None
        self.problems.append(
            Problem(
                problem,
                cell.text[:80] if cell is not None else "",
                accepted,
                mend,
                key=key,
                file=self.file,
                line=first.line if first is not None else None,
                column=cell.column if cell is not None else None,
            )
        )

    def track(self, root: Table, scale: str, standard: str, units: Literal["in", "mm"]) -> Track:
        """Return the whole track, as far as it can be read."""
        for section, node in root.inside.items():
            if section != "track":
                self.refuse(node, section, "a track file has no such section", "[track] and [[track.segment]]")
        head = root.inside.get("track")
        if not isinstance(head, Table):
            self.refuse(
                head,
                "track",
                "there is no track in this file",
                "[track] and at least one [[track.segment]]",
                'Write [[track.segment]] and below it straight = "24 in".',
            )
            return Track("", "", ())
        self._only(head, "track", ("name", "scale", "units", "segment"))
        given = self._word(head, "track", "units", ("in", "mm"))
        self.units = "mm" if (given or units) == "mm" else "in"
        own = head.inside.get("scale")
        word = reference.scale_word(scale)
        if own is not None:
            word = self._scale(own, word)
        self.ratio = reference.scale_ratio(word, standard).value
        name = head.inside.get("name")
        segments = self._segments(head.inside.get("segment"), head)
        title = name.value if isinstance(name, Cell) and isinstance(name.value, str) else ""
        return Track(title, word if own is not None else "", segments)

    def _scale(self, node: Node, otherwise: str) -> str:
        if not isinstance(node, Cell) or not isinstance(node.value, str):
            self.refuse(node, "track.scale", "this is not a scale", 'a word such as "HO"', 'Write scale = "HO".')
            return otherwise
        try:
            return reference.scale_word(node.value)
        except InputError as error:
            self._pass_on(error, node, "track.scale")
            return otherwise

    def _segments(self, node: Node | None, head: Table) -> tuple[Segment, ...]:
        if node is None or not isinstance(node, list):
            self.refuse(
                node or head,
                "track.segment",
                "the track has no segments",
                "at least one [[track.segment]], in double brackets",
                'Write [[track.segment]] and below it straight = "24 in".',
            )
            return ()
        if len(node) > MOST_SEGMENTS:
            self.refuse(node, "track.segment", f"{len(node)} segments are too many", f"at most {MOST_SEGMENTS}")
            return ()
        before = len(self.problems)
        found = [each for at, table in enumerate(node, 1) if (each := self._segment(table, at)) is not None]
        if len(self.problems) == before:
            self._fitting(node, found)
        return tuple(found)

    def _segment(self, table: Table, number: int) -> Segment | None:
        place = f"track.segment[{number}]"
        kinds = [kind for kind in KINDS if kind in table.inside]
        if len(kinds) != 1:
            said = "does not say what it is" if not kinds else f"is {' and '.join(kinds)} at once"
            self.refuse(
                table,
                place,
                f"segment {number} {said}",
                "one of straight, curve, easement, turnout",
                f"For example: {_EXAMPLES[kinds[0] if kinds else 'straight']}.",
            )
            return None
        kind = kinds[0]
        self._only(table, place, _ACCEPTED[kind], number)
        sizes: dict[str, Any] = {}
        if kind == "straight":
            sizes["length"] = self._length(table, place, number, "straight", must=kind)
        else:
            hand = self._word(table, place, kind, ("left", "right"), number)
            sizes["left"] = hand != "right"
            self._sizes(table, place, number, kind, sizes)
        sizes["out"] = self._flag(table, place, number)
        name = table.inside.get("name")
        if isinstance(name, Cell) and isinstance(name.value, str):
            sizes["name"] = name.value
        return Segment(number, table.line, kind, **sizes)

    def _sizes(self, table: Table, place: str, number: int, kind: Kind, sizes: dict[str, Any]) -> None:
        if kind == "curve":
            sizes["radius"] = self._length(table, place, number, "radius", must=kind)
            has_length = "length" in table.inside
            if has_length and "angle" in table.inside:
                self.refuse(
                    table.inside["length"],
                    f"{place}.length",
                    f"segment {number} has an angle and a length",
                    "one of them",
                )
            elif has_length:
                sizes["length"] = self._length(table, place, number, "length", must=kind)
            else:
                sizes["angle"] = self._angle(table, place, number)
        elif kind == "easement":
            sizes["radius"] = self._length(table, place, number, "radius", must=kind)
            sizes["length"] = self._length(table, place, number, "length", must=kind)
            sizes["form"] = self._word(table, place, "form", ("clothoid", "cubic"), number) or "clothoid"
        else:
            sizes["frog"] = self._frog(table, place, number)
            sizes["radius"] = self._length(table, place, number, "radius")
            sizes["points"] = self._length(table, place, number, "points")

    # ------------------------------------------------------------------------------------------------- single values

    def _only(self, table: Table, place: str, accepted: tuple[str, ...], number: int = 0) -> None:
        for name, node in table.inside.items():
            if name not in accepted:
                near = difflib.get_close_matches(name, accepted, n=1)
                where = f"segment {number}" if number else "[track]"
                self.refuse(
                    node,
                    f"{place}.{name}",
                    f"{where} has no such key",
                    ", ".join(accepted),
                    f"Did you mean {near[0]}?" if near else "",
                )

    def _missing(self, table: Table, place: str, number: int, name: str, kind: Kind) -> None:
        self.refuse(
            table,
            f"{place}.{name}",
            f"segment {number}, a {kind}, has no {name}",
            mend=f"For example: {_EXAMPLES[kind]}.",
        )

    def _number(
        self, table: Table, place: str, number: int, name: str, parse: Callable[[Any], tuple[float, str]], unit: str
    ) -> Working | None:
        node = table.inside.get(name)
        key = f"{place}.{name}"
        if not isinstance(node, Cell) or isinstance(node.value, bool | tuple):
            self.refuse(node, key, f"segment {number}: this is not a number", _FORMS[unit])
            return None
        given = node.value.text if isinstance(node.value, TypedFloat) else node.value
        try:
            value, text = parse(given)
        except InputError as error:
            self._pass_on(error, node, key, f"segment {number}: ")
            return None
        if value <= 0.0:
            self.refuse(node, key, f"segment {number}: the {name} must be more than nothing", _FORMS[unit])
            return None
        return typed(value, f"{name} of segment {number}", unit, key=key, text=text, line=node.line)

    def _length(self, table: Table, place: str, number: int, name: str, must: Kind | None = None) -> Working | None:
        if name not in table.inside:
            if must is not None:
                self._missing(table, place, number, name, must)
            return None

        def parse(given: Any) -> tuple[float, str]:
            reading = parse_length(given, units=self.units, ratio=self.ratio, taken="nominal", allow_negative=True)
            return reading.mm, reading.text

        return self._number(table, place, number, name, parse, "mm")

    def _angle(self, table: Table, place: str, number: int) -> Working | None:
        if "angle" not in table.inside:
            self._missing(table, place, number, "angle", "curve")
            return None

        def parse(given: Any) -> tuple[float, str]:
            found = parse_angle(given, allow_negative=True)
            return found.value, found.text

        angle = self._number(table, place, number, "angle", parse, "deg")
        if angle is not None and angle.value > 360.0:
            self.refuse(
                table.inside["angle"],
                f"{place}.angle",
                f"segment {number} turns by more than a full circle",
                "over 0 to 360 degrees",
                "For a helix write the circle several times.",
            )
            return None
        return angle

    def _frog(self, table: Table, place: str, number: int) -> Working | None:
        if "frog" not in table.inside:
            self._missing(table, place, number, "frog", "turnout")
            return None

        def parse(given: Any) -> tuple[float, str]:
            text = str(given).strip().lstrip("#").strip()
            try:
                return float(text), text
            except ValueError:
                raise InputError(Problem("this is not a frog number", str(given), "a number such as 6")) from None

        frog = self._number(table, place, number, "frog", parse, "")
        if frog is not None and not 1.0 <= frog.value <= 100.0:
            self.refuse(
                table.inside["frog"], f"{place}.frog", f"segment {number}: no turnout has such a frog", "1 to 100"
            )
            return None
        return frog

    def _flag(self, table: Table, place: str, number: int) -> bool:
        node = table.inside.get("out")
        if node is None:
            return False
        if isinstance(node, Cell) and isinstance(node.value, bool):
            return node.value
        self.refuse(node, f"{place}.out", f"segment {number}: this is neither yes nor no", "true or false")
        return False

    def _word(self, table: Table, place: str, name: str, accepted: tuple[str, ...], number: int = 0) -> str | None:
        node = table.inside.get(name)
        if node is None:
            return None
        word = node.value.strip().lower() if isinstance(node, Cell) and isinstance(node.value, str) else ""
        if word in accepted:
            return word
        near = difflib.get_close_matches(word, accepted, n=1)
        self.refuse(
            node,
            f"{place}.{name}",
            f"segment {number}: this is not understood" if number else "this is not understood",
            " or ".join(f'"{each}"' for each in accepted),
            f'Did you mean "{near[0]}"?' if near else "",
        )
        return None

    def _pass_on(self, error: InputError, cell: Cell, key: str, lead: str = "") -> None:
        for each in error.problems:
            self.problems.append(
                replace(
                    each,
                    problem=f"{lead}{each.problem}",
                    key=key,
                    file=self.file,
                    line=cell.line,
                    column=cell.column,
                )
            )

    # ------------------------------------------------------------------------------------ segments beside each other

    def _fitting(self, tables: list[Table], segments: list[Segment]) -> None:
        """Refuse easements whose sharp end meets nothing of that radius and hand, and a path that is far too long."""
        for at, segment in enumerate(segments):
            if segment.kind != "easement" or segment.radius is None:
                continue
            beside = at - 1 if segment.out else at + 1
            other = segments[beside] if 0 <= beside < len(segments) else None
            where = "begins" if segment.out else "ends"
            if other is None:
                if not segment.out:
                    continue  # a path may end within a curve
                problem = f"segment {segment.number}: an easement out needs a curve before it"
                self.refuse(tables[at], f"track.segment[{segment.number}]", problem, mend="Write that curve before it.")
                continue
            sharp_there = other.kind == "curve" or (other.kind == "easement" and other.out != segment.out)
            hand = "left" if segment.left else "right"
            if not sharp_there or other.radius is None:
                problem = (
                    f"segment {segment.number}: the easement {where} on a curve, and segment {other.number} is "
                    f"{'an' if other.kind == 'easement' else 'a'} {other.kind}: the curvature has a gap"
                )
            elif other.left != segment.left:
                turn = "left" if other.left else "right"
                problem = (
                    f"segment {segment.number}: the easement curves {hand} and segment {other.number} curves {turn}: "
                    "the curvature reverses within the curve"
                )
            elif abs(other.radius.value - segment.radius.value) > 1e-6 * segment.radius.value:
                problem = (
                    f"segment {segment.number}: the easement {where} on another radius than segment {other.number} "
                    "has: the curvature has a gap"
                )
            else:
                continue
            self.refuse(
                tables[at],
                f"track.segment[{segment.number}]",
                problem,
                f'curve = "{hand}" with radius = "{segment.radius.text}" {"before" if segment.out else "behind"} it',
                "For the way back out of a curve write out = true.",
            )


_FORMS: Final = {"mm": 'a length such as "18 in"', "deg": "an angle in degrees such as 90", "": "a number such as 6"}
