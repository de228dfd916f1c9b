"""A step of the finish, the waits before it and what it occupies: the record that the calendar is made from.

Words. A *step* is one stretch of hands-on work on one car, done without a break in one evening. A *wait* stands before
a step and counts from the **end** of another step of the same car. It is a list of open *windows*: "within an hour or
after two days" is two of them, and the middle is forbidden. A *facility* is anything of which there are only so many
places: pairs of hands, booth, drying rack, a jig.

Times are whole minutes of elapsed time (a change of the clocks does not stretch them). Whoever rounds to minutes rounds
so that the rule still holds: up where a window opens, down where it closes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, Literal

from carwright.working import Basis, Working

__all__ = ["AT_ONCE_OR_LATER", "BOOTH", "HANDS", "RACK", "Act", "Step", "Use", "Wait", "Window"]

Act = Literal[
    "strip",
    "wash",
    "repair",
    "prime",
    "coat",
    "mask",
    "seal",
    "unmask",
    "gloss",
    "letter",
    "set",
    "flat",
    "weather",
    "fit",
    "hold",
]
"""What is done. ``seal`` is the tape's edge sealed with the colour beneath, ``set`` softens lettering onto the surface,
``hold`` is a check before which nothing goes on."""

HANDS: Final = "hands"
"""Pairs of hands; every step holds one for all of its minutes, and does not list it."""

BOOTH: Final = "booth"
"""Where paint is sprayed."""

RACK: Final = "rack"
"""Places where a wet car stands; taken by ``Step.rack_min``, not listed among ``Step.facilities``."""


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of time in which the next step may start, after the end of the step that it waits for.

    Args:
        opens_min: minutes after that end, >= 0; itself in the window.
        closes_min: the last minute that is still in the window, >= ``opens_min``; None where it never closes.
        opens: the working behind ``opens_min``, before it was rounded; None where somebody typed the minutes.
        closes: likewise.
    """

    opens_min: int
    closes_min: int | None = None
    opens: Working | None = field(default=None, compare=False, repr=False)
    closes: Working | None = field(default=None, compare=False, repr=False)


AT_ONCE_OR_LATER: Final = (Window(0),)
"""The windows of a step that only has to come after another."""


@dataclass(frozen=True, slots=True)
class Wait:
    """What a step waits for.

    Args:
        after: ``id`` of a step of the same car.
        windows: the step may *start* in any of these, counted from the *end* of ``after``; at least one.
        because: the reason in one clause, without a full stop ("the first colour has to take the tape").
        basis: how the windows are known; "" where the owner typed them.
        source: document, label or place in the car file.
        late: windows that the tape does not outlast: they are open once all of ``windows`` were missed, with the tape
            pulled and set anew.
    """

    after: str
    windows: tuple[Window, ...] = AT_ONCE_OR_LATER
    because: str = ""
    basis: Basis = ""
    source: str = ""
    late: tuple[Window, ...] = ()


@dataclass(frozen=True, slots=True)
class Use:
    """A place of a facility that a step takes while hands work on it, and for some time after.

    Args:
        facility: its name (``BOOTH``, or the name of a jig).
        stays_min: minutes for which the car stays in it after the step's end, >= 0 (glue that sets in a jig).
    """

    facility: str
    stays_min: int = 0


@dataclass(frozen=True, slots=True)
class Step:
    """One step of one car.

    Args:
        id: stable snake_case name within the car ("prime_sides").
        car: the car's name; ``(car, id)`` is unique in a batch.
        act: see ``Act``.
        title: what to do, as it stands on the evening's sheet ("Prime sides and ends").
        hands_min: hands-on minutes, >= 1; without set-up and cleaning of the spray gun, which a session shares.
        surfaces: on which surfaces ("roof", "sides", "ends", "underframe", "details").
        facilities: what it takes beside a pair of hands.
        colour: paint that is sprayed: steps of one colour share a spray session, of any car. "" where nothing is.
        waits: all of them must be kept; empty where the step can be the first.
        rack_min: minutes for which the car stands on the drying rack after the step's end; a step that waits for this
            one and starts sooner takes it off the rack.
        hold_point: what has to be checked before the next step, or "".
        fixed_start: an appointment: the step starts then and not otherwise. With a time zone.
        done_at: when the step ended, where it is done already. With a time zone.
        hands: the working behind ``hands_min``; None where somebody typed the minutes.
        rack: likewise of ``rack_min``.
    """

    id: str
    car: str
    act: Act
    title: str
    hands_min: int
    surfaces: tuple[str, ...] = ()
    facilities: tuple[Use, ...] = ()
    colour: str = ""
    waits: tuple[Wait, ...] = ()
    rack_min: int = 0
    hold_point: str = ""
    fixed_start: datetime | None = None
    done_at: datetime | None = None
    hands: Working | None = field(default=None, compare=False, repr=False)
    rack: Working | None = field(default=None, compare=False, repr=False)
