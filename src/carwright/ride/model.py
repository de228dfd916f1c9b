"""What the ride room takes and gives: the stack at each end, its heights, its doubts and its cures."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from carwright.car.model import End, Ends
from carwright.records import quickly_made
from carwright.working import Working

__all__ = [
    "Alternative",
    "Contributor",
    "EndRide",
    "EndSpec",
    "Layer",
    "MeasuredAt",
    "Part",
    "Ride",
    "Share",
    "Target",
]

MeasuredAt = Literal["centre line", "pocket top"]
"""What a coupler height is read to."""


@dataclass(frozen=True, slots=True)
class Target:
    """Where the coupler should stand, how far off is accepted, and what it is measured to."""

    height: Working
    limit: Working
    measured_at: MeasuredAt


@dataclass(frozen=True, slots=True)
class Part:
    """One thing in the stack. Parts of one ``group`` are cut from one piece of stock and share its doubt."""

    name: str
    size: Working
    group: str


@quickly_made
@dataclass(frozen=True, slots=True)
class EndSpec:
    """Everything at one end that the coupler's height hangs on; what the file does not give is None or empty."""

    end: End
    mount: Literal["body", "truck", "pocket"]
    seat: Working | None
    wheels_measured: Working | None
    wheels_run: Working | None
    washers: tuple[Part, ...]
    bolster: tuple[Part, ...]
    glue_line: Working | None
    shim: tuple[Part, ...]
    recess: Working | None
    drop: Working | None
    shank_offset: Working | None
    droop: Working | None
    truck_height: Working | None
    centers: Working | None
    inset: Working | None
    body_length: Working | None
    pivot_inset: Working | None
    coupler_length: Working | None
    found: Working | None


@quickly_made
@dataclass(frozen=True, slots=True)
class Contributor:
    """One independent variable of both heights, with its sensitivity at each coupler (None: it has none there)."""

    name: str
    reading: Working
    tolerance: Working
    at_a: Working | None
    at_b: Working | None


@dataclass(frozen=True, slots=True)
class Share:
    """One contributor's part of the variance of a height, 0..1."""

    name: str
    share: Working


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of the stack as drawn, from ``bottom`` to ``top`` above the rail."""

    name: str
    bottom: Working
    top: Working


@quickly_made
@dataclass(frozen=True, slots=True)
class EndRide:
    """One end's heights in mm above the rail; None where a measurement is missing, which ``needs`` names."""

    end: End
    measured_at: MeasuredAt
    bolster_underside: Working | None = None
    floor_underside: Working | None = None
    mounting_face: Working | None = None
    coupler_height: Working | None = None
    target: Working | None = None
    limit: Working | None = None
    error: Working | None = None
    worst_case: Working | None = None
    rss: Working | None = None
    pass_probability: Working | None = None
    found: Working | None = None
    predicted_minus_found: Working | None = None
    x_pivot: Working | None = None
    x_face: Working | None = None
    shares: tuple[Share, ...] = ()
    stack: tuple[Layer, ...] = ()
    needs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Alternative:
    """One way to stand: the whole stack that it ends with, not only what it changes."""

    rank: Working
    name: str
    washers: Ends[tuple[Working, ...]]
    bolster_layers: Ends[tuple[Working, ...]]
    shim: Ends[Working | None]
    recess: Ends[Working | None]
    shank_offset: Ends[Working | None]
    coupler_height: Ends[Working]
    error: Ends[Working]
    pass_probability: Working
    parts: Working
    on_hand: bool
    body_offset: Working | None
    because: str
    mirrored: bool
    """Whether the same with A and B changed over gives the same, ends changed over; it has no place of its own."""
    as_it_is: bool
    to_buy: tuple[tuple[str, int], ...]
    """What of it is not on the shelf, by name, each with how many are short."""
    changes: tuple[tuple[str, str | tuple[str, ...] | None], ...]
    """Keys of the car file and the text that each would get (None: taken out), for taking this alternative."""

    @property
    def listed(self) -> str:
        """Return its name for a list, with that of its mirror image."""
        return f"{self.name}; or A and B changed over" if self.mirrored else self.name


@dataclass(frozen=True, slots=True)
class Ride:
    """Both ends, and what they have in common."""

    ends: Ends[EndRide]
    worse: End | None
    pass_probability: Working | None
    contributors: tuple[Contributor, ...] = ()
    lever: Ends[Working | None] = field(default_factory=lambda: Ends(None, None))
    """Weight of truck A's height in the height at each coupler's pulling face."""
    slope: Working | None = None
    """Of the floor, up toward A; None where the car stands level whatever its measurements, or is not known."""
