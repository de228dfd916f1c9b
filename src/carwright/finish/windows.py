"""When what may follow a coat: the owner's label, else the family's published or customary times.

A window's ends are workings in minutes. Rounding keeps the rule: up where a window opens, down where it closes. Warmth
and damp stretch a time only where a source says by how much: two-part paint takes twice the time for every so many
degrees that it is cooler. An early edge is never brought forward for warmth, nor a late one put off for cold.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from carwright.car.model import Span
from carwright.finish.model import Coating, Conditions
from carwright.finish.steps import Wait, Window
from carwright.reference.citation import Entry
from carwright.reference.finishing import Barrier, Weathering, compatibility, customary, families
from carwright.reference.leaves import leaf
from carwright.working import Working, chosen, derive

__all__ = ["Times", "at_once", "coat_of", "flash_off", "stored_minutes", "window"]

_PER = {"minutes": "x", "hours": "60*x", "days": "1440*x"}
_UNITS = {"minutes": "min", "hours": "h", "days": "d"}


def window(opens: Working, closes: Working | None = None) -> Window:
    """Return a window in whole minutes, with the workings behind it."""
    first = opens if opens.value == int(opens.value) else derive(opens.name, "-floor(-m)", "min", m=opens)
    last = closes
    if closes is not None and closes.value != int(closes.value):
        last = derive(closes.name, "floor(m)", "min", m=closes)
    if last is not None and last.value < first.value:
        last = first
    return Window(int(first.value), None if last is None else int(last.value), first, last)


def stored_minutes(stored: Entry, name: str) -> Working:
    """Return a stored time in minutes; its key says whether it is stored in minutes, hours or days."""
    unit = next(each for each in _PER if any(each in part for part in stored.path))
    found = leaf(stored, name, _UNITS[unit], stored=_UNITS[unit])
    return found if unit == "minutes" else derive(name, _PER[unit], "min", x=found)


class Times:
    """Makes waits under the conditions of one room.

    Args:
        conditions: how warm and damp it is there.
    """

    def __init__(self, conditions: Conditions) -> None:
        self.conditions = conditions

    def stretched(self, time: Working, family: str, *, late: bool = False) -> Working:
        """Return a time of a family as it is in this room; ``late`` for the end of a window."""
        celsius = self.conditions.celsius
        if family != "two_part" or celsius is None:
            return time
        usual = leaf(customary("conditions", "reference_degC"), "warmth that times hold for", "°C", stored="°C")
        if (celsius.value <= usual.value) is late:
            return time
        doubles = customary("conditions", "two_part_doubles_per_degC", "value")
        each = leaf(doubles, "cooling that doubles the time", "°C", stored="°C")
        return derive(f"{time.name} in this room", "m*2**((r - t)/d)", "min", m=time, r=usual, t=celsius, d=each)

    def _label(self, coat: Coating, step: str, kind: str, spans: Sequence[Span], because: str) -> Wait:
        name = coat.paint.name if coat.paint is not None else coat.colour
        source = f"label of {name}, paint[{coat.place}].{kind}"
        return Wait(step, tuple(window(opens, closes) for opens, closes in spans), because, "", source)

    def _from(self, coat: Coating, step: str, because: str, stored: Entry, name: str) -> Wait:
        opens = self.stretched(stored_minutes(stored, name), coat.family.id)
        return Wait(step, (window(opens),), because, stored.citation.basis, str(stored.citation))

    def recoat(self, coat: Coating, step: str) -> Wait:
        """Return when the next coat of the same paint may follow."""
        family, because = coat.family, "the next coat lifts a film that is half cured"
        if coat.paint is not None and coat.paint.windows:
            return self._label(coat, step, "windows", coat.paint.windows, because)
        if family.forbidden_to.number > family.forbidden_from.number:
            closes = stored_minutes(family.forbidden_from, "last minute of the early window")
            opens = stored_minutes(family.forbidden_to, "first minute of the late window")
            source, flash = family.forbidden_to.citation, flash_off()
            told = f"{source}; that the first coat flashes off before the second: {flash.source}"
            return Wait(step, (window(flash, closes), window(opens)), because, source.basis, told)
        if family.later_from and family.later_to and family.flash_first and family.flash_off:
            wet = self.stretched(stored_minutes(family.flash_first, "first minute wet on wet"), family.id)
            late = self.stretched(stored_minutes(family.flash_off, "last minute wet on wet"), family.id, late=True)
            first = self.stretched(stored_minutes(family.later_from, "first hour of the late window"), family.id)
            last = self.stretched(stored_minutes(family.later_to, "last hour of the late window"), family.id, late=True)
            dry = self.stretched(stored_minutes(family.cured, "full cure"), family.id)
            source = family.later_to.citation
            early = [window(one, other) for one, other in ((wet, late), (first, last)) if one.value <= other.value]
            because = "wet on flash-off, or within the late window; once cured, scuff first"
            return Wait(step, (*early, window(dry)), because, source.basis, str(source))
        if family.flash_off is not None:
            return self._from(
                coat, step, "the solvent of the coat below has to flash off", family.flash_off, "flash-off"
            )
        return self._from(coat, step, "the coat below has to be touch dry", family.touch_dry, "touch dry")

    def under_tape(self, recoat: Wait, spent_min: float) -> Wait | None:
        """Return a wait with only those windows that open while the tape is on, None where none does.

        Args:
            recoat: what the second coat waits for.
            spent_min: minutes from the end of masking that all else takes before the tape comes off, but for this wait.
        """
        longest = stored_minutes(customary("masking", "max_time_on_hours"), "longest that tape stays on").value
        kept = tuple(each for each in recoat.windows if each.opens_min + spent_min <= longest)
        late = tuple(each for each in recoat.windows if each not in kept)
        return replace(recoat, windows=kept, late=late) if kept else None

    def again(self, coat: Coating, step: str) -> Wait | None:
        """Return when a coat that bears tape may be misted once more with its own paint, None where never again."""
        bears = self.carries(coat, step, "mask").windows[0].opens_min
        recoat = self.recoat(coat, step)
        late = tuple(each for each in recoat.windows if each.closes_min is None or each.closes_min >= bears)
        return replace(recoat, windows=late) if late else None

    def dry(self, coat: Coating) -> Working:
        """Return for how long it takes dust."""
        if coat.paint is not None and coat.paint.dry:
            return coat.paint.dry[0][0]
        return self.stretched(stored_minutes(coat.family.touch_dry, "touch dry"), coat.family.id)

    def carries(self, coat: Coating, step: str, what: Literal["handle", "mask"]) -> Wait:
        """Return when a coat may be handled, or takes tape."""
        because = "the colour has to take the tape" if what == "mask" else "the colour has to bear handling"
        spans = () if coat.paint is None else getattr(coat.paint, what)
        if spans:
            return self._label(coat, step, what, spans, because)
        stored = coat.family.mask_after if what == "mask" else coat.family.handle
        return self._from(coat, step, because, stored, "takes tape" if what == "mask" else "may be handled")

    def over(self, coat: Coating, below: Coating, step: str) -> Wait | None:
        """Return when another paint may go over one, or None where it need not wait."""
        because = f"{below.colour} has to be ready for {coat.colour} over it"
        if below.paint is not None and below.paint.over:
            return self._label(below, step, "over", below.paint.over, because)
        known = compatibility(coat.family.id, below.family.id)
        stored = below.family.other_over if known is None or not known.wait.number else known.wait
        return self._from(below, step, because, stored, f"{below.colour} before another paint")

    def lettering(self, coat: Coating, step: str, default: str) -> Wait:
        """Return when lettering may go on a coat; ``default`` names the customary wait."""
        because = f"the {coat.colour} has to cure"
        if coat.paint is not None and coat.paint.letter:
            return self._label(coat, step, "letter", coat.paint.letter, because)
        return self.customary(step, because, default)

    def customary(self, step: str, because: str, *path: str) -> Wait:
        """Return a customary wait of the order of work."""
        names = path if len(path) > 1 else ("schedule_defaults", *path)
        stored = customary(*names)
        words = names[-1] if not names[-1].startswith("value") else names[-2]
        opens = stored_minutes(stored, words.removesuffix("_hours").replace("_", " "))
        return Wait(step, (window(opens),), because, stored.citation.basis, str(stored.citation))

    def cured(self, coat: Coating, step: str, because: str) -> Wait:
        """Return when a coat is cured."""
        return self._from(coat, step, because, coat.family.cured, "full cure")

    def glued(self, spans: Sequence[Span], step: str) -> Wait:
        """Return when parts that were glued on may be washed: by the label of the glue, else by custom."""
        because = "joints harden, and the plastic softened by cement too"
        if not spans:
            return self.customary(step, because, "glued_to_wash_hours")
        windows = tuple(window(opens, closes) for opens, closes in spans)
        return Wait(step, windows, because, "", "label of the glue, finish.glue_dry")

    def weathered(self, kind: Weathering, step: str, what: str) -> Wait | None:
        """Return when something may go over weathering, or None where it is dry as it is."""
        because = f"{kind.name.words} has to dry before {what}"
        if kind.family:
            return self._from(coat_of(kind), step, because, families()[kind.family].handle, "may be handled")
        if kind.dry is None:
            return None
        source = kind.dry.citation
        return Wait(step, (window(stored_minutes(kind.dry, "dry")),), because, source.basis, str(source))

    def barrier(self, barrier: Barrier, step: str) -> Wait:
        """Return when paint may go over a barrier coat."""
        opens = stored_minutes(barrier.wait, f"{barrier.name.words} before paint")
        citation = barrier.wait.citation
        return Wait(step, (window(opens),), "the barrier has to dry", citation.basis, str(citation))

    def tape(self, coat: str, mask: str) -> list[Wait]:
        """Return when tape comes off: soon after the last coat, and before it has stuck too long."""
        low, high = (customary("masking", "remove_tape_after_minutes", end) for end in ("low", "high"))
        limit = customary("masking", "max_time_on_hours")
        soon = window(stored_minutes(low, "tape off at the earliest"), stored_minutes(high, "tape off at the latest"))
        within = window(at_once(), stored_minutes(limit, "longest that tape stays on"))
        torn = "a cured film tears along the tape"
        return [
            Wait(coat, (soon,), torn, high.citation.basis, str(high.citation)),
            Wait(mask, (within,), "old tape leaves glue", limit.citation.basis, str(limit.citation)),
        ]


def coat_of(kind: Weathering) -> Coating:
    """Return a way of weathering as the coat of paint that it leaves; its family must be known."""
    return Coating(kind.name.words, (), families()[kind.family], "weathering")


def flash_off() -> Working:
    """Return for how long a mist or a first coat stands before the next, where no source says so: our own estimate."""
    return leaf(customary("hands_minutes", "mist_flash"), "flash-off, estimate", "min", stored="min")


def at_once() -> Working:
    """Return the beginning of a window that is open at once."""
    return chosen(0.0, "at once", "min", note="the window is open from the end of the step on")
