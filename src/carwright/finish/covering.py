"""What lies under tape, what is sprayed and what lies bare, act by act: the record that masking is drawn from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from carwright.finish.steps import BOOTH, Step

__all__ = ["Covering", "coverings"]


@dataclass(frozen=True, slots=True)
class Covering:
    """Acts that follow one another with the same tape on the car and the same paint in the gun.

    Args:
        acts: their numbers in the list of steps, counted from 1; masking, sealing and unmasking among them.
        steps: the acts themselves.
        masked: what lies under tape, in the order in which it was covered.
        sprayed: what gets the paint.
        colour: the paint; "" where tape is put on and nothing is sprayed. A barrier is one; a mist along tape is none.
        worn: the paint that each surface has already when the first of them begins; none of what is bare.
    """

    acts: tuple[int, ...]
    steps: tuple[Step, ...]
    masked: tuple[str, ...]
    sprayed: tuple[str, ...]
    colour: str
    worn: Mapping[str, str]

    @property
    def everywhere(self) -> bool:
        """Return whether the paint goes over all that has paint or gets it, and there is no tape to show."""
        return not self.masked and set(self.worn) <= set(self.sprayed)


def coverings(steps: Sequence[Step], named: Sequence[str]) -> tuple[Covering, ...]:
    """Return the masking and spraying of a finish, in order.

    Args:
        steps: of one car, in the order in which they are done.
        named: every surface that the scheme names; an act without surfaces is done to all that is not covered.
    """
    found: list[Covering] = []
    worn: dict[str, str] = {}
    masked: dict[str, None] = {}
    open_ = False  # whether tape went on for a coat that is still to come
    for number, step in enumerate(steps, 1):
        if step.act == "mask":
            masked.update(dict.fromkeys(step.surfaces))
            if not open_:
                found.append(Covering((), (), (), (), "", MappingProxyType(dict(worn))))
            found[-1] = _longer(found[-1], number, step, masked=tuple(masked))
            open_ = True
        elif step.act == "seal" and found and step.surfaces and set(step.surfaces) <= masked.keys():
            found[-1] = _longer(found[-1], number, step)
        elif step.act == "unmask":
            for each in step.surfaces or tuple(masked):
                masked.pop(each, None)
            if found:
                found[-1] = _longer(found[-1], number, step)
            open_ = False
        elif any(use.facility == BOOTH for use in step.facilities):
            sprayed = tuple(each for each in step.surfaces or named if each not in masked)
            paint = step.colour or "weathering"
            now = (tuple(masked), sprayed, paint)
            same = bool(found) and (found[-1].masked, found[-1].sprayed, found[-1].colour) == now
            if not open_ and not same:
                found.append(Covering((), (), tuple(masked), (), "", MappingProxyType(dict(worn))))
            found[-1] = replace(_longer(found[-1], number, step), sprayed=sprayed, colour=paint)
            worn.update(dict.fromkeys(sprayed, paint))
            open_ = False
    return tuple(found)


def _longer(covering: Covering, number: int, step: Step, *, masked: tuple[str, ...] | None = None) -> Covering:
    """Return a covering with one act more."""
    return replace(
        covering,
        acts=(*covering.acts, number),
        steps=(*covering.steps, step),
        masked=covering.masked if masked is None else masked,
    )
