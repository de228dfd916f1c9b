"""Which stock each line comes from: strip of its own width, else sheet, else a wider strip, else layers of sheet.

A strip is never snapped lengthwise, so that it is asked for by the finished size of a piece, without the allowance for
snapped edges. It serves as it is within the tolerance of strip; a little wider it is sanded to width.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from carwright.lengths import Units, number_in
from carwright.problems import InputError, Problem
from carwright.reference.choices import practice_value
from carwright.stock.demand import ROUNDING_MM, SAME_MM, Lamination, Section, Wanted, bar_of, laminated, sheet_of
from carwright.stock.whole import both_units

__all__ = ["Lacking", "Share", "Sources", "shares_of"]


@dataclass(frozen=True, slots=True)
class Lacking:
    """A line that nothing on the shelf serves, and the least stock that would.

    Args:
        line: of the batch.
        form: "sheet", "strip", or "bar" for strip, rod or wire of that thickness.
        thickness_mm: of the stock.
        width_mm: of the stock, the finished width where it is a strip; None where none is asked for.
        length_mm: of the stock.
        narrow: whether a strip is asked for because the piece is too narrow to be cut off a sheet by hand.
        widest_mm: of a strip that is then sanded to width; 0 where none may be wider.

    A line of rod or wire has its own limits.
    """

    line: Wanted
    form: Literal["sheet", "strip", "bar"]
    thickness_mm: float
    width_mm: float | None
    length_mm: float
    narrow: bool = False
    widest_mm: float = 0.0

    def least(self, units: Units) -> str:
        """Return the least stock that would serve, in words."""
        long = both_units(self.length_mm, units=units)
        if self.form == "sheet" and self.width_mm is not None:
            size = (
                f"sheet {both_units(self.thickness_mm, units=units)} thick, "
                f"{both_units(self.length_mm, self.width_mm, units=units)} or larger"
            )
        elif self.width_mm is not None:
            size = f"strip {both_units(self.thickness_mm, self.width_mm, units=units)}, {long} or longer"
            if self.narrow:
                size += ", because that is too narrow to be cut off a sheet by hand"
            if self.widest_mm > self.width_mm:
                size += f" (strip up to {number_in(self.widest_mm, units)} wide will do, sanded to width)"
        else:
            size = f"strip, rod or wire of {both_units(self.thickness_mm, units=units)}, {long} or longer"
            if self.line.least_mm is not None and self.line.most_mm is not None:
                low, high = (number_in(each, units) for each in (self.line.least_mm, self.line.most_mm))
                size += f" (round, from {low} to {high} will do)"
        return f"{self.line.material} {size}"


@dataclass(frozen=True, slots=True)
class Share:
    """A line as it is cut from a section.

    Args:
        section: of its stock.
        line: with the sizes to cut from this stock; without a width where it is cut from a bar.
        sand_mm: width to which a strip is sanded; 0 where it is used as it is.
        sheet: what else it could be cut from, where a strip runs out; None where there is nothing.
    """

    section: Section
    line: Wanted
    sand_mm: float = 0.0
    sheet: Share | None = None


class Sources:
    """The stock of a shelf as sections, and what can be cut off each by hand.

    Args:
        sections: all of them.
        snapped: whether sheet is cut and snapped by hand.
    """

    def __init__(self, sections: Sequence[Section], *, snapped: bool) -> None:
        self.sections = tuple(sections)
        self.snapped = snapped

    def narrowest_mm(self, section: Section) -> float:
        """Return the narrowest strip that comes off a section: what snaps, or where a knife goes through, what holds.

        0 where nothing is snapped.

        Raises:
            InputError: the sheet is too thick for a knife.
        """
        if not self.snapped or section.form != "sheet":
            return 0.0
        if section.thickness_mm <= practice_value("cut_through").value + SAME_MM:
            return practice_value("narrowest_trim").value
        limit = practice_value("saw_from").value
        if section.thickness_mm >= limit - ROUNDING_MM:
            raise InputError(
                Problem(
                    f"{section.material} sheet of this thickness does not snap",
                    value=f"{section.thickness_mm:g} mm",
                    accepted=f"less than {limit:g} mm",
                    mend="Cut it with a saw, and give its kerf; or leave out what it is needed for.",
                    key="--kerf",
                )
            )
        return section.thickness_mm * practice_value("narrowest_snap").value

    def from_sheet(self, line: Wanted) -> Share | None:
        """Return a line as it is cut from sheet of its own thickness, None where there is none or it is too narrow."""
        section = sheet_of(line, self.sections)
        if section is None:
            return None
        wide = min(line.width_mm or line.length_mm, line.length_mm) >= self.narrowest_mm(section) - ROUNDING_MM
        return Share(section, line) if wide else None

    def from_strip(self, line: Wanted, *, sanded: bool = False) -> Share | None:
        """Return a line as it is cut from the strip nearest its finished width, None where none is near enough.

        Args:
            line: a rectangle.
            sanded: whether a wider strip will do too, within what is sanded off; two in one rectangle never.
        """
        assert line.width_mm is not None
        long, wide = line.finished_mm or (line.length_mm, line.width_mm)
        near = practice_value("strip_tolerance").value
        wider = practice_value("strip_sanded").value if sanded and not line.outlines else 0.0
        ways = [(wide, long), (long, wide)] if line.turn else [(wide, long)]
        found: list[tuple[bool, float, Share]] = []
        for section in self.sections:
            if section.form != "strip" or section.material != line.material:
                continue
            for thick, across in ((section.thickness_mm, section.width_mm), (section.width_mm, section.thickness_mm)):
                if abs(thick - line.thickness_mm) > SAME_MM:
                    continue
                for width_mm, length_mm in ways:
                    over = across - width_mm
                    as_it_is = abs(over) <= near + ROUNDING_MM
                    if as_it_is or 0 < over <= wider + ROUNDING_MM:
                        cut = replace(line, width_mm=None, length_mm=length_mm, strip_mm=width_mm, finished_mm=None)
                        found.append((not as_it_is, abs(over), Share(section, cut, 0.0 if as_it_is else width_mm)))
        return min(found, key=lambda each: each[:2], default=(False, 0.0, None))[2]

    def section_of_bar(self, line: Wanted) -> Section | None:
        """Return the strip, rod or wire that a line without a width is cut from; of its own section where it has one.

        Raises:
            InputError: strips of several widths would do, and the line does not say which.
        """
        if line.strip_mm is None:
            return bar_of(line, self.sections)
        found = self.from_strip(replace(line, width_mm=line.strip_mm, turn=False))
        return None if found is None else found.section


def shares_of(line: Wanted, sources: Sources) -> tuple[list[Share], Lamination | None] | Lacking:
    """Return what a line is cut from, with its layers where a thickness is missing; or what it lacks.

    Raises:
        InputError: sheet is too thick to snap, or strips of several widths would do.
    """
    if line.width_mm is None:
        section = sources.section_of_bar(line)
        if section is not None:
            return [Share(section, line)], None
        form: Literal["strip", "bar"] = "bar" if line.strip_mm is None else "strip"
        return Lacking(line, form, line.thickness_mm, line.strip_mm, line.length_mm)
    found = _rectangle(line, sources)
    if found is not None:
        return [found], None
    if sheet_of(line, sources.sections) is not None:
        return _narrow(line)
    layers = laminated(line, sources.sections)
    if layers is None:
        return Lacking(line, "sheet", line.thickness_mm, line.width_mm, line.length_mm)
    shares = [_rectangle(layer, sources) for layer in layers[1]]
    whole = [each for each in shares if each is not None]
    return (whole, layers[0]) if len(whole) == len(shares) else _narrow(line)


def _rectangle(line: Wanted, sources: Sources) -> Share | None:
    """Return a rectangle from strip of its own width, else from sheet, else from a strip that is sanded to width."""
    strip = sources.from_strip(line)
    if strip is None:
        return sources.from_sheet(line) or sources.from_strip(line, sanded=True)
    try:
        return replace(strip, sheet=sources.from_sheet(line))
    except InputError:  # too thick to snap: then strip alone
        return strip


def _narrow(line: Wanted) -> Lacking:
    """Return what serves where a piece is too narrow to be cut off a sheet: strip of its finished width."""
    assert line.width_mm is not None
    narrow, long = sorted(line.finished_mm or (line.length_mm, line.width_mm))
    widest = narrow + practice_value("strip_sanded").value
    return Lacking(line, "strip", line.thickness_mm, narrow, long, narrow=True, widest_mm=widest)
