"""The order of colours: nothing masks less, light goes under dark, and spray reaches what adjoins."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.finish.painted import by_id, plan_of, verdicts

from carwright.car.scheme import read_scheme
from carwright.finish.order import best_order, judged, lightness
from carwright.finish.reach import reaches
from carwright.problems import InputError
from carwright.reference.finishing import adjoining

COLOURS = ("white", "yellow", "grey", "red", "brown", "black", "puce")


def test_a_scheme_is_read_as_people_write_it() -> None:
    """Parts are joined by "and" or a comma, a colour may have several words, and two parts may share it."""
    assert read_scheme("Sides and the ends oxide red, roof, underframe black; door oxide red") == {
        "oxide red": ("sides", "ends", "doors"),
        "black": ("roof", "underframe"),
    }


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("rooof black", "Did you mean roof?"),
        ("roof and undrframe black", "Did you mean underframe?"),
        ("sides grey, side red", "sides is given two colours"),
        ("sides grey, roof", "a colour is wanting"),
        (" , ", "there is no colour scheme"),
        ("sides grey roof black", "Put a comma before roof"),
        ("sides grey and black", "Give a part one colour"),
    ],
)
def test_a_slip_in_a_scheme_is_told_with_the_nearest_word(text: str, told: str) -> None:
    """What is no part of a car, is named twice or has no colour is refused."""
    with pytest.raises(InputError, match=told.replace("?", r"\?")):
        read_scheme(text)


def test_sharing_an_edge_goes_both_ways() -> None:
    """Whatever adjoins a surface is adjoined by it, and every name in the table is a surface of it."""
    table = adjoining()
    assert all(one in table[other] for one, others in table.items() for other in others)


def test_what_spray_reaches() -> None:
    """The roof's spray reaches the sides but not the underframe, nothing reaches trucks, and the rest is everywhere."""
    assert reaches(["roof"], ["sides", "underframe", "trucks", "rest"]) == ("sides", "rest")
    assert reaches(["sides"], ["underframe"], apart=["underframe", "trucks"]) == ()


def _by_hand(order: tuple[str, ...], scheme: dict[str, tuple[str, ...]], apart: set[str]) -> tuple[int, int, int, int]:
    """Return what an order costs, found by painting a car surface by surface: (dark under, times, covered, dark first).

    To be trusted because it knows nothing of sets of colours: it walks over pairs of surfaces and edges of the data.
    """
    wears: dict[str, str] = {}
    dark_under = times = covered = dark_first = 0
    for colour in order:
        under_tape, sprayed_under = set(), set()
        for surface in scheme[colour]:
            for other, its in wears.items():
                if {surface, other} & apart:
                    continue
                if other in adjoining()[surface]:
                    under_tape.add(other)
                    sprayed_under.add(its)
        own = lightness(colour)
        darker = {each: (lightness(each) or 0) - own for each in wears.values() if own is not None}
        dark_first += sum(steps > 0 for steps in darker.values())
        dark_under += sum(steps > 1 for each, steps in darker.items() if each in sprayed_under)
        covered += len(under_tape)
        times += bool(under_tape)
        wears |= dict.fromkeys(scheme[colour], colour)
    return dark_under, times, covered, dark_first


@st.composite
def _schemes(draw: st.DrawFn) -> dict[str, tuple[str, ...]]:
    surfaces = draw(st.permutations(sorted(adjoining())))
    colours = draw(st.permutations(COLOURS))[: draw(st.integers(1, 5))]
    split = [draw(st.integers(0, len(colours) - 1)) for _ in surfaces]
    scheme = {
        colour: tuple(each for each, at in zip(surfaces, split, strict=True) if at == n)
        for n, colour in enumerate(colours)
    }
    return {colour: those for colour, those in scheme.items() if those}


@settings(max_examples=80, deadline=None)
@given(_schemes(), st.sets(st.sampled_from(sorted(adjoining()))), st.booleans())
def test_no_order_masks_less(scheme: dict[str, tuple[str, ...]], apart: set[str], light_first: bool) -> None:
    """Painting the car in every order finds none that is better, and the costs told are those of painting it."""

    def cost(order: tuple[str, ...]) -> tuple[int, ...]:
        dark, *rest = _by_hand(order, scheme, apart)
        return (dark, *rest) if light_first else tuple(rest)

    best = best_order(scheme, apart=tuple(apart), light_first=light_first)
    assert cost(best.order) == min(cost(order) for order in permutations(scheme))
    assert (best.dark_under, best.times, best.covered, best.dark_first) == _by_hand(best.order, scheme, apart)


def test_what_spoils_counts_before_light_and_tape() -> None:
    """Grey lies under black, unless black would lift it: then black comes first, and it is said."""
    scheme = {"grey": ("sides",), "black": ("roof",)}
    assert best_order(scheme).order == ("grey", "black")
    turned = best_order(scheme, spoils=lambda over, below: (over, below) == ("black", "grey"))
    assert (turned.order, turned.spoilt, turned.dark_under) == (("black", "grey"), 0, 1)
    made = plan_of(paints={"grey": "enamel", "black": "lacquer"})
    assert made.masking.order == ("black", "grey")
    assert verdicts(made)["light_under_dark"] == "watch"


def test_the_owner_has_the_last_word_on_the_order() -> None:
    """An order of his own is taken and judged; one without all colours is refused by its key."""
    made = plan_of('order = ["black", "grey"]')
    assert made.masking == judged(["black", "grey"], {"grey": ("sides",), "black": ("roof", "ends")})
    with pytest.raises(InputError, match="without grey"):
        plan_of('order = ["black"]')
    with pytest.raises(InputError, match="Did you mean black"):
        plan_of('order = ["blak", "grey"]')


def test_light_first_may_be_waived() -> None:
    """Yellow sides and ends under a brown roof mask two surfaces; with the light rule waived brown comes first: one."""
    scheme = 'scheme = "sides and ends yellow, roof brown"\n'
    kept, free = plan_of(scheme), plan_of(scheme + "light_first = false")
    assert (kept.masking.order, kept.masking.covered) == (("yellow", "brown"), 2)
    assert (free.masking.order, free.masking.covered) == (("brown", "yellow"), 1)
    assert verdicts(kept)["masking"] == "ok"


def test_several_colours_under_one_tape_are_sealed_each_with_its_own() -> None:
    """One colour beneath seals itself; of several each seals its edges, or a clear does that agrees with them all."""
    scheme = 'scheme = "sides grey, doors red, roof black"\napart = ["trucks"]\n'
    paints = dict.fromkeys(("grey", "red", "black"), "acrylic")
    split = plan_of(scheme, paints).passes
    assert [each.seals for each in split] == [
        (),
        (("grey", ("sides",)),),
        (("grey", ("sides",)), ("red", ("doors",))),
    ]
    steps = by_id(plan_of(scheme, paints))
    assert (steps["seal_3_1"].colour, steps["seal_3_2"].colour) == ("grey", "red")
    assert plan_of(scheme, {**paints, "clear": "acrylic"}).passes[2].seals == (("clear", ("sides", "doors")),)
    assert plan_of(scheme, {**paints, "clear": "lacquer"}).passes[2].seals == split[2].seals
    assert plan_of(scheme + 'seal = "clear"', paints).passes[2].seals == (("clear", ("sides", "doors")),)
