"""What lies on the bench before the first cut: material by thickness, drills and taps, and the tools of the job."""

from __future__ import annotations

import re
from collections import Counter
from typing import Literal

from carwright.book.oldholes import NO_DRILL
from carwright.draw.blocks import Block, Columns, Facts, Heading
from carwright.draw.labels import number
from carwright.pieces import Piece, bought_bolster
from carwright.plan.model import Plan

__all__ = ["material_blocks", "tool_blocks"]

_METALS = ("brass", "steel", "bronze", "phosphor bronze", "zinc alloy", "lead", "copper", "aluminium")


def material_blocks(plan: Plan) -> tuple[Block, ...]:
    """Return the stock that the book's pieces are cut from; empty while nothing is to be made."""
    material = _material(plan)
    return (Heading("Material"), Facts(material)) if material else ()


def tool_blocks(plan: Plan) -> tuple[Block, ...]:
    """Return the drills, taps and tools that pieces and holes ask for; empty while nothing is to be made."""
    if not _material(plan):
        return ()
    rows = _tools(plan)
    half = len(rows) // 2
    return (Heading("Tools"), Columns((Facts(rows[:half]),), (Facts(rows[half:]),), 0.5))


def _made(plan: Plan) -> list[Piece]:
    return [piece for piece in plan.pieces if piece.made and piece.quantity.value >= 1]


def _material(plan: Plan) -> tuple[tuple[str, str], ...]:
    """Return each stock that something is cut from, the thickest of a kind first, and how many pieces come of it."""
    units: Literal["in", "mm"] = plan.car.info.units
    found: Counter[tuple[int, str, float, str]] = Counter()
    for piece in _made(plan):
        if piece.thickness_mm is None:
            continue
        many = int(piece.quantity.value)
        if piece.form in ("wire", "rod", "block"):
            rank = ("rod", "block", "wire").index(piece.form) + 1
            found[rank, piece.form, -piece.thickness_mm.value, piece.material] += many
        elif bought_bolster(piece):
            found[4, "bolster", -piece.thickness_mm.value, piece.material] += many
        else:
            for layer in piece.layers_mm or (piece.thickness_mm,):
                found[0, "sheet", -layer.value, piece.material] += many
    sizes = {each.value: each for piece in _made(plan) for each in (*piece.layers_mm, piece.thickness_mm) if each}
    rows = []
    for (_, form, thick, material), many in sorted(found.items()):
        what = "length" if form in ("wire", "rod") else "piece"
        told = f"{many} {what}{'' if many == 1 else 's'}"
        rows.append((f"{form.capitalize()} {number(sizes[-thick], units)}, {material}", told))
    return tuple(rows)


def _tools(plan: Plan) -> tuple[tuple[str, str], ...]:
    """Return drills, taps and the rest, each with what it is for."""
    drills: dict[str, float] = {}
    for hole in plan.holes:
        if hole.drill != NO_DRILL:
            drills.setdefault(hole.drill, hole.diameter_mm.value)
    for each in plan.repairs:
        if each.plug is not None and each.plug.drill is not None:
            drills.setdefault(each.plug.drill.name, each.plug.drill.diameter_mm)
    taps = sorted({hole.tap for hole in plan.holes if hole.tap}, key=_thread)
    pieces = _made(plan)
    styrene = any(piece.material == "styrene" for piece in pieces)
    wire = any(piece.form == "wire" or piece.material in _METALS for piece in pieces)
    rows = [
        ("Drills", ", ".join(sorted(drills, key=drills.__getitem__, reverse=True))),
        ("Taps", ", ".join(taps)),
        ("Measuring", "caliper, steel rule, small square, height gauge, a length of track"),
        ("Cutting", "fresh blades, fine saw, sanding block, pin vice"),
        ("Joining", " and ".join(("solvent cement",) * styrene + ("CA glue",) * wire)),
        ("Holding", "flat weights, clamps, a scrap of each sheet to try on"),
        ("Yourself", "eye protection, fresh air"),
    ]
    return tuple((label, value) for label, value in rows if value)


def _thread(name: str) -> tuple[float, ...]:
    return tuple(float(each) for each in re.findall(r"[\d.]+", name))
