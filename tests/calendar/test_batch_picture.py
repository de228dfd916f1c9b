"""The picture of a batch, however full its evenings are."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import combinations

from tests.calendar.batches import batch

from carwright.calendar.batch import Evening
from carwright.calendar.solve import earliest_calendar
from carwright.draw.calendarviews import batch_chart
from carwright.draw.glyphs import CAP_HEIGHT, in_lines, width_mm
from carwright.draw.model import LETTER_MM, Hatch, Line, Polyline, Text, walk

Box = tuple[float, float, float, float]


def over(one: Box, two: Box) -> bool:
    """Return whether two boxes (left, low, right, up) lie on one another."""
    return one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3]


def test_in_full_evenings_nothing_is_cut_and_words_touch_nothing() -> None:
    """Nine cars with long names on evenings of ten hours: every act in full, no words on words, lanes or lines."""
    lot = batch(4, cars=9, nights=40, rack=9)
    named = {f"car {n}": f"car {n} of the second lot, bought at the autumn meet" for n in range(1, 10)}
    free = tuple(Evening(each.start, each.start + timedelta(hours=4)) for each in lot.evenings)
    steps = tuple(
        replace(each, car=named[each.car], surfaces=("sides", "ends", "underframe", "details")) for each in lot.steps
    )
    lot = replace(lot, steps=steps, evenings=free)
    made = earliest_calendar(lot)
    assert made is not None
    drawing = batch_chart(made, lot)
    marks = list(walk(drawing.marks))
    words = [each for each in marks if isinstance(each, Text)]
    assert not any("…" in each.text for each in words)
    assert sum(each.text.endswith("seal the tape") for each in words) == sum(e.step.act == "seal" for e in made.placed)
    texts: list[Box] = []
    for each in words:
        size = each.size_mm or LETTER_MM
        right = each.at.x_mm + width_mm(each.text, size, bold=each.bold)
        texts.append((each.at.x_mm, each.at.y_mm, right, each.at.y_mm + CAP_HEIGHT * size))
    assert not [pair for pair in combinations(texts, 2) if over(*pair)]
    drawn: list[Box] = []
    for mark in marks:
        if isinstance(mark, Line):
            points = [mark.start, mark.end]
        elif isinstance(mark, (Polyline, Hatch)) and mark.part != "evening":
            points = list(mark.points if isinstance(mark, Polyline) else mark.outline)
        else:
            continue
        xs, ys = [at.x_mm for at in points], [at.y_mm for at in points]
        drawn.append((min(xs), min(ys) - 0.1, max(xs), max(ys) + 0.1))
    assert not [box for box in drawn if any(over(box, text) for text in texts)]


def test_a_word_longer_than_its_room_is_broken_and_nothing_of_it_lost() -> None:
    """No line is longer than the room, and the lines put together are the words."""
    lines = in_lines("Refrigerator car Donaudampfschifffahrtsgesellschaft", 25.0, LETTER_MM)
    assert all(width_mm(each, LETTER_MM) <= 25.0 for each in lines)
    assert "".join("".join(lines).split()) == "RefrigeratorcarDonaudampfschifffahrtsgesellschaft"
