"""Every example of the key table is an answer that the reader takes, in small and large scales and in both units."""

from __future__ import annotations

import pytest

from carwright.car.answers import Answers, answers_in, example_at_ends, example_of
from carwright.car.keys import Key, keys

ASKED = [key for key in keys() if key.kind != "windows" and not key.program]


def answered(key: Key, text: str, start: bytes) -> Answers:
    """Return a car file in which one question was answered; what its table needs beside it has its example too."""
    answers = Answers(start)
    info = answers.car.info
    others = [each for each in keys() if each.section == key.section and each.needed and each is not key]
    changes = {}
    for each, said in [*((other, example_of(other, info)) for other in others), (key, text)]:
        changes |= answers_in(each, each.path.replace("[]", "[0]"), said)
    answers.put({place: value for place, value in changes.items() if value is not None})
    return answers


@pytest.mark.parametrize(("scale", "units"), [("HO", "in"), ("N", "mm"), ("O", "in")])
def test_every_example_is_accepted(scale: str, units: str) -> None:
    """Typed at the prompt or on the page, the example of each question is taken, alone and for the two ends."""
    start = f'[car]\nscale = "{scale}"\nunits = "{units}"\n'.encode()
    info = Answers(start).car.info
    for key in ASKED:
        if key.section == "car" or (key.section.startswith("shelf") and scale != "HO"):
            continue  # stock has the same sizes in every scale
        texts = [example_of(key, info), *([example_at_ends(key, info)] if key.ends else [])]
        for text in texts:
            made = answered(key, text, start)
            assert made.said(key, key.path.replace("[]", "[0]")), (key.path, text)


def test_every_example_of_the_first_section_is_accepted() -> None:
    """Of [car] too, in the units and the scale that the examples themselves name."""
    for key in ASKED:
        if key.section == "car":
            assert answered(key, example_of(key, Answers().car.info), b"").said(key, key.path), key.path


def test_the_ends_differ_in_the_example_for_them() -> None:
    """What is shown for two ends that differ is two sizes, in the reader's own form."""
    by_path = {key.path: key for key in keys()}
    info = Answers().car.info
    assert example_at_ends(by_path["trucks.seat_height"], info) == "A 0.284 B 0.290"
    assert example_at_ends(by_path["coupler.mount"], info) == "A body B truck"
    metric = Answers(b'[car]\nunits = "mm"\nscale = "H0"\nstandard = "NEM"\n').car.info
    assert example_at_ends(by_path["coupler.drop"], metric) == "A 1.57 B 1.72"
