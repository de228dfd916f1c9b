"""The bare problem: published and tried-out optima, rules kept, repeatable, slips told."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.calendar.trying import least_by_trying

from carwright.calendar.shop import Shop, ShopAnswer, ShopStep, read_shop, shop_slips
from carwright.calendar.shopbounds import least_makespan
from carwright.calendar.shopsolve import solve_shop
from carwright.cli.main import main
from carwright.problems import InputError

SIX_BY_SIX = (
    ((2, 1), (0, 3), (1, 6), (3, 7), (5, 3), (4, 6)),
    ((1, 8), (2, 5), (4, 10), (5, 10), (0, 10), (3, 4)),
    ((2, 5), (3, 4), (5, 8), (0, 9), (1, 1), (4, 7)),
    ((1, 5), (0, 5), (2, 5), (3, 3), (4, 8), (5, 9)),
    ((2, 9), (1, 3), (4, 5), (5, 4), (0, 3), (3, 1)),
    ((1, 3), (3, 3), (5, 9), (0, 10), (4, 4), (2, 1)),
)
"""H. Fisher, G. L. Thompson, Industrial Scheduling (1963), the 6 x 6 example: (machine, minutes)."""


def job_shop(rows: tuple[tuple[tuple[int, int], ...], ...]) -> Shop:
    """Return a job shop with one place a machine."""
    machines = 1 + max(machine for row in rows for machine, _ in row)
    jobs = tuple(tuple(ShopStep(machine, minutes) for machine, minutes in row) for row in rows)
    return Shop(tuple(f"m{n}" for n in range(machines)), (1,) * machines, jobs)


def test_the_six_by_six_shop_takes_55_minutes() -> None:
    """The optimum of the 6 x 6 example is 55, as published (J. Carlier, E. Pinson, Management Science 35 (1989))."""
    shop = job_shop(SIX_BY_SIX)
    answer = solve_shop(shop)
    assert (answer.status, answer.makespan, answer.bound) == ("optimal", 55, 55)
    assert shop_slips(shop, answer) == []


def test_the_same_shop_gives_the_same_schedule() -> None:
    """A shop that is not closed within its work gives the same starts twice, the search by orders included."""
    state, rows = 7, []
    for _ in range(12):
        machines, row = list(range(8)), []
        for _ in range(8):
            state = state * 16807 % 2147483647
            row.append((machines.pop(state % len(machines)), 1 + state // 8 % 99))
        rows.append(tuple(row))
    shop = job_shop(tuple(rows))
    one, two = solve_shop(shop, work=0.5), solve_shop(shop, work=0.5)
    assert one == two
    assert shop_slips(shop, one) == []
    assert least_makespan(shop) <= one.bound <= one.makespan


@st.composite
def shops(draw: st.DrawFn) -> Shop:
    """Return a small problem with places, steps without facility and waits that close."""
    places = tuple(draw(st.lists(st.integers(1, 2), min_size=1, max_size=2)))
    jobs = []
    for _ in range(draw(st.integers(1, 3))):
        steps = []
        for _ in range(draw(st.integers(1, 2))):
            facility = draw(st.sampled_from((None, *range(len(places)))))
            wait = draw(st.integers(0, 2))
            slack = draw(st.sampled_from((None, 0, 1)))
            minutes = draw(st.integers(0, 3))
            steps.append(ShopStep(facility, minutes, wait, None if slack is None else wait + slack))
        jobs.append(tuple(steps))
    return Shop(tuple(f"f{n}" for n in range(len(places))), places, tuple(jobs))


@settings(max_examples=60, deadline=None)
@given(shops())
def test_small_shops_are_as_short_as_trying_every_schedule_finds(shop: Shop) -> None:
    """Status optimal, every rule kept, and the makespan is what trying out every schedule finds."""
    answer = solve_shop(shop)
    assert shop_slips(shop, answer) == []
    assert answer.status == "optimal"
    assert answer.makespan == least_by_trying(shop, max(1, answer.makespan))


def test_a_broken_schedule_is_told() -> None:
    """The check that is apart from the solver names a facility over its places, a wait that closed and a wrong end."""
    shop = Shop(("booth",), (1,), ((ShopStep(0, 5, 1, 2), ShopStep(0, 5)), (ShopStep(0, 5),)))
    slips = shop_slips(shop, ShopAnswer("optimal", 15, 15, ((0, 9), (4,))))
    assert slips == [
        "job 1, step 2 starts 4 min after the step before it",
        "booth is over its places at minute 4",
        "the last job ends at 14, not at 15",
    ]


@pytest.mark.parametrize(
    ("text", "key", "said"),
    [
        ("{", "", "this is not JSON"),
        ("[]", "", "a problem is one JSON object"),
        ('{"facilities": {}, "jobs": []}', "jobs", "needs a list of jobs"),
        ('{"facilities": {"b": {"places": 0}}, "jobs": [{"steps": []}]}', "facilities.b", "number of places"),
        ('{"facilities": {}, "jobs": [{"steps": [{"facility": "x", "minutes": 1}]}]}', "facility", "no such facility"),
        ('{"facilities": {}, "jobs": [{"steps": [{"minutes": -1}]}]}', "minutes", "no number of minutes"),
        ('{"facilities": {}, "jobs": [{"steps": [{"minutes": 1, "wait_min": 9, "wait_max": 8}]}]}', "", "closes"),
    ],
)  # fmt: skip
def test_slips_of_a_problem_are_told_with_their_place(text: str, key: str, said: str) -> None:
    """Text that is no problem, no places, an unknown facility and a wait that closes before it opens are refused."""
    with pytest.raises(InputError) as caught:
        read_shop(text.encode(), file="p.json")
    assert any(key in each.key and said in each.problem for each in caught.value.problems)


def test_the_command_prints_the_answer(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """``--problem --json`` gives status, makespan, bound and starts; null facility and last wait count."""
    problem = {
        "facilities": {"booth": {"places": 1}},
        "jobs": [
            {"steps": [{"facility": "booth", "minutes": 10, "wait_min": 5}, {"facility": None, "minutes": 1}]},
            {"steps": [{"facility": "booth", "minutes": 10, "wait_min": 30, "wait_max": None}]},
        ],
    }
    (tmp_path / "p.json").write_text(json.dumps(problem), encoding="utf-8")
    assert main(["calendar", "--problem", str(tmp_path / "p.json"), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert (said["status"], said["makespan"], said["bound"]) == ("optimal", 40, 40)
    (booth, bare), (first,) = said["starts"]
    assert (first, booth >= 10, bare >= booth + 15) == (0, True, True)
