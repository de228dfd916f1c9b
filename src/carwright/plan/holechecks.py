"""Every hole against the edge of its piece and against the other holes of it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from typing import Literal

from carwright.fasten.edges import apart, nearest_edge
from carwright.fasten.tapped import said
from carwright.findings import Finding
from carwright.lengths import show_in
from carwright.pieces import Hole, Piece
from carwright.reference import practice_value, thread
from carwright.working import Working, derive

__all__ = ["hole_findings", "with_edges"]

_OWN = ("truck_a", "truck_b", "coupler_a", "coupler_b")
"""Holes whose edge has a finding of its own; so has the train line's."""


def with_edges(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """Return the pieces with the distance to the nearest finished edge at each hole that had none."""

    def told(piece: Piece, hole: Hole) -> Hole:
        if hole.edge_mm is not None or hole.x_mm is None or hole.angle_deg is not None:
            return hole
        edge = nearest_edge(f"{said(hole.name)} to the nearest edge", piece.outline_mm, hole.x_mm, hole.y_mm)
        return replace(hole, edge_mm=edge)

    return tuple(replace(piece, holes=tuple(told(piece, hole) for hole in piece.holes)) for piece in pieces)


def hole_findings(pieces: Sequence[Piece], units: Literal["in", "mm"]) -> Iterator[Finding]:
    """Yield what is found on the distance of holes from edges and from each other.

    A tapped hole stands 1.5 screw diameters from an edge, and from the rim of another hole, a plain one its own
    diameter (common practice). What is too near has a finding each; what is well has one together, with the tightest.
    """
    yield from _edges(pieces, units)
    yield from _between(pieces, units)


def _wanted(hole: Hole) -> Working:
    found = thread(hole.tap) if hole.tap else None
    factor = practice_value("wire_edge_diameters" if found is None else "edge_diameters_min")
    across = hole.diameter_mm if found is None else found.major
    return derive(f"least distance of {said(hole.name)} from an edge", "k*D", k=factor, D=across)


def _edges(pieces: Sequence[Piece], units: Literal["in", "mm"]) -> Iterator[Finding]:
    fine: list[tuple[Working, Hole, Working, Working]] = []
    for piece in pieces:
        for hole in piece.holes:
            if hole.edge_mm is None or hole.name in _OWN or "train_line" in hole.name or not hole.purpose:
                continue
            limit = _wanted(hole)
            margin = derive(
                f"edge distance at the hole for {said(hole.name)} to spare", "e - m", e=hole.edge_mm, m=limit
            )
            if margin.value >= -1e-9:
                fine.append((margin, hole, hole.edge_mm, limit))
                continue
            because = (
                f"The hole for {said(hole.name)} stands only {show_in(hole.edge_mm.value, units)} from the edge; "
                f"{show_in(limit.value, units)} leaves a wall."
            )
            mend = _roomier(piece, limit, margin, units)
            yield Finding(
                f"edge_{hole.name}", "watch", because, hole.edge_mm, limit, margin, mend=mend, source="common practice"
            )
    if fine:
        margin, hole, edge, limit = min(fine, key=lambda each: each[0].value)
        because = (
            f"Of the other holes the one for {said(hole.name)} is nearest to an edge: {show_in(edge.value, units)}, "
            f"{show_in(limit.value, units)} leaves a wall."
        )
        yield Finding("edges", "ok", because, edge, limit, margin, source="common practice")


def _roomier(piece: Piece, limit: Working, margin: Working, units: Literal["in", "mm"]) -> str:
    """Return what gives a hole its wall: a move inward, or where the piece is too small for any, the size it wants."""
    grid = 0.0254 if units == "in" else 0.01
    least = math.ceil(2 * limit.value / grid - 1e-6) * grid
    for size, side, key in (
        (piece.width_mm, "wide", "underframe.bolster_length"),
        (piece.length_mm, "long", "underframe.bolster_width"),
    ):
        if size.value < least:
            named = f": {key}" if piece.name.startswith("bolster_") else ""
            return f"The piece is too small for that wall: make it at least {show_in(least, units)} {side}{named}."
    return f"Move it {show_in(-margin.value, units)} inward, or make the piece larger."


def _between(pieces: Sequence[Piece], units: Literal["in", "mm"]) -> Iterator[Finding]:
    for piece in pieces:
        tightest: tuple[Working, Hole, Hole, Working, Working] | None = None
        placed = [hole for hole in piece.holes if hole.x_mm is not None and not hole.needs and hole.angle_deg is None]
        for pair in combinations(placed, 2):
            for one, other in (pair, pair[::-1]):
                if one.x_mm is None or other.x_mm is None:
                    continue
                between = apart(f"{said(one.name)} from {said(other.name)}", one.x_mm, one.y_mm, other.x_mm, other.y_mm)
                rim = derive(
                    f"{said(one.name)} to the rim of {said(other.name)}", "d - o/2", d=between, o=other.diameter_mm
                )
                limit = _wanted(one)
                if tightest is None or rim.value - limit.value < tightest[0].value:
                    margin = derive(
                        f"distance between the holes for {said(one.name)} and {said(other.name)} to spare",
                        "r - m",
                        r=rim,
                        m=limit,
                    )
                    tightest = (margin, one, other, rim, limit)
        if tightest is None or (tightest[0].value >= -1e-9 and piece.name != "floor"):
            continue
        margin, one, other, rim, limit = tightest
        where = f"From the middle of the hole for {said(one.name)} to the rim of that for {said(other.name)}"
        told = f"{show_in(rim.value, units)}; {show_in(limit.value, units)}"
        if margin.value >= -1e-9:
            because = f"{where}, the nearest in the floor, are {told} leaves a wall."
            yield Finding(f"holes_apart_{piece.name}", "ok", because, rim, limit, margin, source="common practice")
            continue
        because = f"{where} are only {told} leaves a wall, or the plastic between them splits."
        mend = f"Move one of them {show_in(-margin.value, units)} away, or use one hole for both."
        yield Finding(
            f"holes_apart_{piece.name}", "watch", because, rim, limit, margin, mend=mend, source="common practice"
        )
