"""The pictures of the docs are what the program draws."""

from __future__ import annotations

import pytest
from tools.write_pictures import PICTURES, pictures

DRAWN = dict(pictures())


@pytest.mark.parametrize("name", DRAWN)
def test_a_picture_is_what_the_program_draws(name: str) -> None:
    """Each stored picture equals the drawing of its car, byte for byte; ``tools/write_pictures.py`` renews it."""
    assert (PICTURES / name).read_text(encoding="utf-8") == DRAWN[name]


def test_no_picture_is_left_over() -> None:
    """Every picture in the folder is one that the tool draws."""
    assert {path.name for path in PICTURES.iterdir()} == set(DRAWN)
