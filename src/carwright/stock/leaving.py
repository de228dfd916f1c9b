"""Pieces left out of a cutting: bought ready, made otherwise, or cut another day; chosen by name, as plans tell it."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase

from carwright.pieces import Hole, Piece
from carwright.problems import InputError, Problem
from carwright.stock.demand import Apart, Wanted, asked_for, set_apart, wanted_of_plan

__all__ = ["Choice", "Chosen", "chosen_of_list", "chosen_of_plan"]

_MANY = re.compile(r"^\d+ (?:x )?")


@dataclass(frozen=True, slots=True)
class Choice:
    """Which pieces are cut: those that no name leaves out and, where some are asked for alone, only those.

    Args:
        leave_out: names, with or without the car before them; ``*`` stands for anything ("crosstie * flange").
        only: names of the pieces that alone are cut; empty for all.
    """

    leave_out: tuple[str, ...] = ()
    only: tuple[str, ...] = ()

    def cuts(self, name: str, *, car: str = "") -> bool:
        """Return whether a piece is cut.

        Args:
            name: of the piece, without its car.
            car: its name, "" where there is only one.
        """
        if any(_means(each, name, car) for each in self.leave_out):
            return False
        return not self.only or any(_means(each, name, car) for each in self.only)

    def check(self, pieces: Iterable[tuple[str, str]]) -> None:
        """Refuse names that mean no piece.

        Args:
            pieces: name and car of every piece, as for ``cuts``.

        Raises:
            InputError: with each such name, and the nearest there is.
        """
        known = list(dict.fromkeys(pieces))
        problems = [
            _unknown(each, known, key)
            for key, names in (("--leave-out", self.leave_out), ("--only", self.only))
            for each in names
            if not any(_means(each, name, car) for name, car in known)
        ]
        if problems:
            raise InputError(problems)


@dataclass(frozen=True, slots=True)
class Chosen:
    """What is cut of a car or a list.

    Args:
        lines: the pieces.
        waiting: names of those whose measurements are missing.
        left_out: names of those that are left out.
        known: name and car of every piece, left out or not, for ``Choice.check``.
        apart: pieces that are made, but not planned from a shelf.
    """

    lines: tuple[Wanted, ...]
    waiting: tuple[str, ...]
    left_out: tuple[str, ...]
    known: tuple[tuple[str, str], ...]
    apart: tuple[Apart, ...] = ()


def chosen_of_plan(pieces: Iterable[Piece], choice: Choice, *, car: str = "", holes: Sequence[Hole] = ()) -> Chosen:
    """Return what is cut of a plan's pieces; what is left out is so before tapering pieces are laid in pairs."""
    every = list(pieces)
    asked = [piece for piece in every if asked_for(piece)]
    cut = [piece for piece in asked if choice.cuts(piece.name, car=car)]
    lines, waiting = wanted_of_plan(cut, car=car, holes=holes)
    left_out = tuple(f"{car} {piece.name}".strip() for piece in asked if not choice.cuts(piece.name, car=car))
    apart = set_apart((piece for piece in every if choice.cuts(piece.name, car=car)), car=car)
    known = tuple((piece.name, car) for piece in every if piece.made)
    return Chosen(tuple(lines), tuple(waiting), left_out, known, apart)


def chosen_of_list(lines: Iterable[Wanted], choice: Choice) -> Chosen:
    """Return what is cut of the lines of a list."""
    given = tuple(lines)
    cut = tuple(line for line in given if choice.cuts(line.name))
    left_out = tuple(dict.fromkeys(line.name for line in given if not choice.cuts(line.name)))
    return Chosen(cut, (), left_out, tuple((line.name, "") for line in given))


def _plain(name: str) -> str:
    """Return a name in one spelling: as it is stored, as it is printed, in either spelling of the middle."""
    words = " ".join(name.replace("_", " ").casefold().split())
    return words.replace("centre", "center")


def _means(wanted: str, name: str, car: str) -> bool:
    pattern = _plain(wanted).replace("[", "[[]")
    own = {_plain(name), _plain(f"{car} {name}")}
    # Alike pieces and pairs are told with their number: "3 x rib", "2 web".
    return any(fnmatchcase(each, shown) for each in own for shown in {pattern, _MANY.sub("", pattern)})


def _unknown(wanted: str, known: Sequence[tuple[str, str]], key: str) -> Problem:
    spelled = {_plain(f"{car} {name}"): f"{car} {name}".strip().replace("_", " ") for name, car in known}
    spelled |= {_plain(name): name.replace("_", " ") for name, _ in known}
    near = difflib.get_close_matches(_plain(wanted), spelled, n=1, cutoff=0.5)
    mend = f"Did you mean {spelled[near[0]]}? " if near else ""
    return Problem("there is no such piece", wanted, mend=f"{mend}The plan names every piece.", key=key)
