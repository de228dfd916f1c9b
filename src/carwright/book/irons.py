"""The steps for grab irons, ladders and sill steps: marked, measured, drilled, bent, tried, fixed."""

from __future__ import annotations

from carwright.book.order import Order, named, names, rows
from carwright.lengths import number_in
from carwright.pieces import Hole
from carwright.plan.model import Plan

__all__ = ["irons"]


def irons(plan: Plan, order: Order) -> None:
    """Add the steps of what ``[[body.grab]]`` asks for; none where it asks for nothing."""
    holes = tuple(hole for hole in plan.holes if hole.name.startswith(("grab_iron", "sill_step")))
    if not holes:
        return
    order.part = "Grab irons and steps"
    wire = named(plan, "grab_iron", "sill_step")
    drills = " and ".join(dict.fromkeys(hole.drill for hole in holes))
    order.hold(
        "iron_tried",
        f"Drill {drills} in scrap as thick as the wall: the wire slides in and does not rattle, and the wall neither "
        "cracks nor bulges.",
    )
    order.act(
        "mark_irons",
        "Mark the middle of each iron on the car, hold the plate against the wall with its fence under the sill and "
        "its middle line on the mark, and prick both holes; a step's under the sill, in the middle of its thickness.",
        after=("bars",),
        irreversible=False,
    )
    order.hold(
        "irons_marked",
        f"Measure the marks with calipers: {_told(plan, holes)}. They lie level, and nothing stands behind them.",
    )
    order.act(
        "drill_irons",
        f"Drill {len(holes)} holes {drills}, square to the wall, a support behind it.",
        after=("iron_tried", "irons_marked"),
        caution="drill",
    )
    if wire:
        order.act(
            "bend_irons",
            f"Cut the wire ({rows(plan, wire)}) and bend each over the bending board, legs a little long.",
            after=("bars", "iron_tried"),
            pieces=names(wire),
            caution="wire",
        )
        order.hold(
            "irons_fit",
            "Set each in its holes, dry: it goes in without force, stands level, and as far from the wall as drawn.",
        )
        order.act(
            "glue_irons",
            "Fix each from the inside with a trace of CA glue, and file the legs flush when it is hard.",
            after=("irons_fit", "iron_tried"),
            pieces=names(wire),
            caution="superglue",
        )


def _told(plan: Plan, holes: tuple[Hole, ...]) -> str:
    """Return how far apart the two holes of each kind of iron are: "0.196 between both of grab iron 1"."""
    told: list[str] = []
    for first, second in zip(holes[::2], holes[1::2], strict=True):
        if first.x_mm is None or second.x_mm is None:
            continue
        name = first.name.rsplit("_", 2)[0].replace("_", " ")
        apart = abs(first.x_mm.value - second.x_mm.value)
        told.append(f"{number_in(apart, plan.car.info.units)} between both of {name}")
    return "; ".join(dict.fromkeys(told))
