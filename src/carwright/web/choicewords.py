"""What a choice of the car file is called on a page: the words of the trade, where the file's are short.

The value that is sent and kept stays the file's; only what is read on the page is said here.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from carwright.car.keys import key_named

__all__ = ["choice_how", "choice_said"]

_SAID: Final[Mapping[str, Mapping[str, str]]] = {
    "car.units": {"in": "inches", "mm": "millimetres"},
    "car.measured_with": {"caliper": "calipers", "rule": "a rule"},
    "body.mount": {
        "drop-in": "drops in on a ledge",
        "underside": "lies under the sides, flush",
        "saddles": "saddles of a tank",
        "none": "nothing holds it",
    },
    "body.floor": {"new": "to be made", "kept": "the one in the car stays", "deck": "the deck is the floor"},
    "body.ledge": {"over": "over the floor", "under": "under the floor"},
    "body.block[].kind": {"cavity": "room for weight"},
    "body.hole[].part": {"bolster": "body bolster"},
    "body.grab[].kind": {"grab": "grab iron", "step": "sill step"},
    "trucks.setting": {"turns": "only turns", "rocks": "turns and rocks"},
    "trucks.insulated": {
        "left": "left wheels",
        "right": "right wheels",
        "both": "both wheels",
        "mixed": "some left, some right",
    },
    "coupler.mount": {"body": "on the body", "truck": "on the truck", "pocket": "in a close-coupling pocket"},
    "coupler.measured_at": {"pocket top": "top of the pocket"},
    "underframe.glue": {"solvent": "solvent cement", "gap-filling": "gap-filling glue"},
    "underframe.brake": {"auto": "by the years built and rebuilt"},
    "underframe.retention": {"none": "neither: it is glued in"},
    "weight.rule": {"RP-20.1": "NMRA RP-20.1", "own": "a target of your own"},
    "finish.plastic": {"abs": "ABS", "clear san": "clear SAN", "unknown": "not known"},
    "finish.old_coat": {
        "none": "none: bare plastic",
        "even": "thin and even",
        "heavy": "heavy: detail filled up",
        "uneven": "uneven: runs, brush marks, chips",
    },
    "finish.old_family": {"unknown": "not known"},
    "finish.lettering": {"decal": "decals"},
    "finish.seal": {"colours": "the colour beneath", "clear": "a clear coat"},
    "finish.spray": {"can": "spray can"},
    "finish.log[].result": {
        "worked": "the paint came off",
        "failed": "it stayed",
        "attacked": "it attacked the plastic",
    },
}

_HOW: Final[Mapping[str, str]] = {
    "car.measured_with": "One value that was taken with the other says so behind it: “6 1/8 rule”.",
    "car.units": "A number with its unit behind it is read by that unit wherever it stands.",
    "body.mount": "Dropped in it lies between the sides, on a ledge.",
    "body.floor": "One that stays keeps its holes; the deck of a flat car is its floor.",
    "body.block[].kind": "In room for weight ballast can go; the others are in the way.",
    "coupler.mount": (
        "On the body it is screwed under the floor or to a pad beneath it; on the truck it swings with the truck; a "
        "pocket is one for close coupling, to NEM."
    ),
    "underframe.brake": "Left to the years, it is what new cars had then.",
    "weight.rule": "RP-20.1 is by the NMRA, NEM 302 by MOROP.",
    "finish.seal": "The colour beneath goes along its own edge, a clear coat along all of them.",
    "finish.log[].result": "",
}
"""How it is found out, where the file's words for it would be met that the page does not show."""


def choice_said(place: str, text: str) -> str:
    """Return what stands for a value of a choice on the page; any other text as it is.

    Example:
        >>> (
        ...     choice_said("body.mount", "drop-in"),
        ...     choice_said("coupler.a.mount", "truck"),
        ...     choice_said("body.width", "1.2"),
        ... )
        ('drops in on a ledge', 'on the truck', '1.2')
    """
    key = key_named(place)
    return _SAID.get(key.path, {}).get(text, text) if key is not None and key.choices else text


def choice_how(path: str, text: str) -> str:
    """Return how the value of a key is found out, as the page says it; ``text`` where it says nothing else."""
    return _HOW.get(path, text)
