"""The awkward cars' underframes: which stand without two parts in one room, and what frees the one that cannot."""

from __future__ import annotations

from pathlib import Path

import pytest

from carwright.car.read import read_car
from carwright.car.write import set_values
from carwright.plan import Plan, make_plan

CARS = Path(__file__).parent / "cars"
ALL = sorted(path.stem for path in CARS.glob("*.toml"))
IMPOSSIBLE = {"new_wheels": {"underframe.bolster": "4.40"}}
"""By hand, in mm: the wheels are 11.10 high over the tread, and the floor's underside lies at 10.22 and 10.12, so that
any wheel stands in the floor whatever hangs below it. A bolster 2.10 higher, 4.40, carries it clear of flange and rock.
"""


def plan_of(text: str, name: str) -> Plan:
    """Return the plan of a car file's text."""
    return make_plan(read_car(text, file=f"{name}.toml"))


def text_of(name: str) -> str:
    """Return the text of one of the cars."""
    return (CARS / f"{name}.toml").read_text(encoding="utf-8")


def failing(plan: Plan) -> list[str]:
    """Return the failing findings of parts in one room."""
    return [each.check for each in plan.findings if each.check.startswith("clash_") and each.verdict == "fail"]


@pytest.mark.parametrize("name", [name for name in ALL if name not in IMPOSSIBLE])
def test_an_awkward_car_has_an_underframe_without_a_failing_clash(name: str) -> None:
    """Cross members or a sill are planned, and no two parts take the same room."""
    plan = plan_of(text_of(name), name)
    assert any(piece.name.startswith(("center_sill", "crossbearer", "bolster")) for piece in plan.pieces)
    assert failing(plan) == []
    assert "interference" in {each.check for each in plan.findings}


@pytest.mark.parametrize("name", IMPOSSIBLE)
def test_the_car_that_cannot_be_built_is_freed_by_its_mend(name: str) -> None:
    """Its only failing clashes are those of the floor with the wheels; the mend's one change frees it."""
    text = text_of(name)
    plan = plan_of(text, name)
    assert failing(plan)
    assert all(check.startswith("clash_floor_wheel_") for check in failing(plan))
    mends = [each.mend for each in plan.findings if each.check in failing(plan)]
    assert any("Raise the floor by 2.10 mm" in mend for mend in mends)
    freed = plan_of(set_values(text.encode(), IMPOSSIBLE[name]).decode(), name)
    assert not [each.check for each in freed.findings if each.check.startswith("clash_")]
    assert any(piece.name.startswith("crossbearer") for piece in freed.pieces)
