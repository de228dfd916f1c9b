"""Old holes: whether one is in a new hole's way, and the plug that makes the place sound again.

A drill that meets the rim of an old hole, or the seam of its plug, wanders and tears; so a new hole stands either
wholly beside an old one or wholly in its plug. Words: the *cut* of a new hole is the diameter that it takes away (of a
tapped one the thread's greatest); the *seam* is the joint between a plug and what is round it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from carwright.fasten.edges import apart
from carwright.pieces import Hole
from carwright.reference import Drill, Thread, practice_value, smallest_drill_at_least, thread, thread_percent
from carwright.working import Working, derive

__all__ = ["Act", "Near", "Plug", "PlugOffer", "Repair", "Site", "State", "choose_plug", "judge", "near", "safe_shift"]

State = Literal["clear", "inside", "taken", "serves", "foul"]
"""Of a new hole beside an old one: clear of it; wholly in its plug; the drill takes it whole; it is the new hole as it
stands; half in it, or too near."""

Act = Literal["plug", "use"]
"""What is done with an old hole: plugged before the new one is drilled; used as it stands, without drilling."""


@dataclass(frozen=True, slots=True)
class Site:
    """An old hole in its piece's own frame.

    Args:
        name: stable name ("old_hole_1").
        what: what it was, in the owner's words.
        piece: that it is in.
        x: mm.
        y: mm.
        diameter: mm; of a stripped thread, its greatest.
        plugged: whether a plug fills it already.
        stripped: the thread that no longer holds, or None.
        edge: its centre to the nearest finished edge, mm, where known.
        depth: of the plastic there, mm, where known.
        play: how far a new hole's centre may be off and still be at the same place, mm.
    """

    name: str
    what: str
    piece: str
    x: Working
    y: Working
    diameter: Working
    plugged: bool
    stripped: Thread | None
    edge: Working | None
    depth: Working | None
    play: float


@dataclass(frozen=True, slots=True)
class Near:
    """A new hole beside an old one: the hole, what it cuts away, and how far apart the two centres are, mm."""

    hole: Hole
    cut: Working
    distance: Working


@dataclass(frozen=True, slots=True)
class PlugOffer:
    """Rod or tube that a plug may be cut from, on the shelf or (``on_hand`` False) to be bought."""

    form: Literal["rod", "tube"]
    diameter: Working
    bore: Working | None
    on_hand: bool
    label: str


@dataclass(frozen=True, slots=True)
class Plug:
    """A plug: cut from rod or tube, or a square patch let in where no rod is wide enough.

    Args:
        form: "rod", "tube" or "patch".
        size: its diameter, or the side of the patch, mm.
        offer: what it is cut from; None of a patch.
        drill: that the old hole is opened to; None where it fits as it is, and of a patch.
    """

    form: Literal["rod", "tube", "patch"]
    size: Working
    offer: PlugOffer | None
    drill: Drill | None


@dataclass(frozen=True, slots=True)
class Repair:
    """What is done with one old hole before the new holes beside it are drilled.

    Args:
        site: the old hole.
        act: see ``Act``.
        holes: names of the new holes that it is done for.
        plug: None where the hole is used as it is.
        length: to cut the plug to, mm, filed flush later; None where the thickness is not known.
        wait: until the glue has set, hours; None where nothing is glued.
    """

    site: Site
    act: Act
    holes: tuple[str, ...]
    plug: Plug | None = None
    length: Working | None = None
    wait: Working | None = None


def near(site: Site, hole: Hole) -> Near | None:
    """Return a new hole of the same piece as it stands beside an old one; None while its place is not known."""
    if hole.x_mm is None or hole.needs or hole.piece != site.piece:
        return None
    found = thread(hole.tap) if hole.tap else None
    cut = hole.diameter_mm if found is None else found.major
    name = f"{hole.name.replace('_', ' ')} from {site.name.replace('_', ' ')}"
    return Near(hole, cut, apart(name, hole.x_mm, hole.y_mm, site.x, site.y))


def seam_wanted(cut: Working) -> Working:
    """Return how far a hole's centre must stand from the seam of a plug, mm."""
    return derive("least distance from the seam of a plug", "k*D", k=practice_value("plug_seam_diameters"), D=cut)


def rim_wanted(of: Near) -> Working:
    """Return how far a hole's centre must stand from the rim of an open old hole, mm: as from a finished edge."""
    factor = practice_value("edge_diameters_min" if of.hole.tap else "wire_edge_diameters")
    return derive("least distance from the rim of an old hole", "k*D", k=factor, D=of.cut)


def judge(site: Site, of: Near) -> State:
    """Return how a new hole stands to an old one."""
    d, old, drilled = of.distance.value, site.diameter.value / 2.0, of.hole.diameter_mm.value / 2.0
    same = d <= site.play
    if (0.0 if same else d) + old <= drilled + 1e-9:
        return "taken"
    if site.plugged:
        seam = seam_wanted(of.cut).value
        return "clear" if d - old >= seam - 1e-9 else "inside" if old - d >= seam - 1e-9 else "foul"
    if d - old >= rim_wanted(of).value - 1e-9:
        return "clear"
    return "serves" if same and _holds(site, of.hole) else "foul"


def _holds(site: Site, hole: Hole) -> bool:
    """Return whether an open hole serves as the new one: a plain hole at once, a thread where enough is left of it."""
    found = thread(hole.tap) if hole.tap else None
    if found is None:
        return True
    percent = thread_percent(found.major, found.pitch, site.diameter).value
    return percent >= practice_value("thread_percent_floor").value


def choose_plug(
    site: Site, others: Sequence[Near], offers: Sequence[PlugOffer], units: Literal["in", "mm"]
) -> Plug | None:
    """Return the plug after which every new hole is wholly beside it or wholly in it; None where none is.

    What is on the shelf comes first, then rod before tube, then the thinnest. A tube only where a new drill takes its
    bore away. Where no rod is wide enough a square patch is let in.

    Args:
        site: the old hole.
        others: the new holes of its piece.
        offers: rod and tube.
        units: number, letter and fraction drills for "in", millimetre drills for "mm".
    """
    slack = practice_value("plug_slack").value
    ranked = sorted(offers, key=lambda each: (not each.on_hand, each.form == "tube", each.diameter.value))
    for offer in ranked:
        size = offer.diameter.value
        if size < site.diameter.value - slack or not _room(site, size) or not _sound(site, others, offer):
            continue
        if size <= site.diameter.value:
            return Plug(offer.form, offer.diameter, offer, None)
        kinds = ("metric",) if units == "mm" else ("number", "letter", "fraction")
        drill = smallest_drill_at_least(size, kinds)  # type: ignore[arg-type]  # a tuple of the four words
        if drill is not None:
            return Plug(offer.form, offer.diameter, offer, drill)
    return _patch(site, others)


def _room(site: Site, size: float) -> bool:
    """Return whether a plug leaves wall beside it, as a wire's hole of its size would."""
    return site.edge is None or site.edge.value >= practice_value("wire_edge_diameters").value * size - 1e-9


def _sound(site: Site, others: Sequence[Near], offer: PlugOffer) -> bool:
    radius, within = offer.diameter.value / 2.0, False
    for each in others:
        seam, d = seam_wanted(each.cut).value, each.distance.value
        if radius - d >= seam - 1e-9:
            within = True
            bore = 0.0 if offer.bore is None else offer.bore.value / 2.0
            if bore and bore + (0.0 if d <= site.play else d) > each.hole.diameter_mm.value / 2.0 + 1e-9:
                return False
        elif d - radius < seam - 1e-9:
            return False
    return within or offer.form == "rod"


def _patch(site: Site, others: Sequence[Near]) -> Plug | None:
    """Return a square patch that takes in the old hole and each new one that is not clear of it, or None."""
    fouled = [each for each in others if judge(site, each) == "foul"]
    if not fouled:
        return None
    worst = max(fouled, key=lambda each: each.distance.value + seam_wanted(each.cut).value)
    side = derive("side of the patch", "2*(d + s)", d=worst.distance, s=seam_wanted(worst.cut))
    if side.value < site.diameter.value:
        return None
    if site.edge is not None and site.edge.value < side.value:
        return None
    for each in others:
        beside = each.distance.value - side.value / math.sqrt(2.0) >= seam_wanted(each.cut).value
        if not beside and each.distance.value + seam_wanted(each.cut).value > side.value / 2.0 + 1e-9:
            return None
    return Plug("patch", side, None, None)


def safe_shift(site: Site, of: Near, plug: float) -> float:
    """Return how far along the car a new hole must move to stand beside a plug of this diameter, mm; never negative.

    The move is away from the old hole: by sqrt(w^2 - dy^2) - |dx|, where w is the distance wanted.
    """
    assert of.hole.x_mm is not None
    wanted = plug / 2.0 + seam_wanted(of.cut).value
    across = abs(of.hole.y_mm.value - site.y.value)
    if across >= wanted:
        return 0.0
    return max(0.0, math.sqrt(wanted**2 - across**2) - abs(of.hole.x_mm.value - site.x.value))
