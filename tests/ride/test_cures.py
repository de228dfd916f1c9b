"""Cures against brute force over a small shelf, and the case that nothing on the shelf can cure.

The oracle is ``tests/ride/brute.py``. Places along these cars are sizes without doubt (whole inches, drills by name),
so that only what stands in the stack errs: a = 2 in, c = 3 - 0.228 + 0.228 = 3 in, lever (3 + 2)/4 = 1.25.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from itertools import pairwise

import pytest
from tests.plan import cars
from tests.ride.brute import Act, SmallCar, Way, ways
from tests.ride.planned import error, height, inches, known, plan_of, text_of

from carwright.car.model import ENDS, Ends
from carwright.car.read import read_car
from carwright.car.write import set_values
from carwright.plan import Plan, make_plan
from carwright.ride.model import Alternative
from carwright.ride.single import single_change
from carwright.ride.stack import spec_of

BAND = 0.02
BLUR = 0.005
"""How far the two chances may differ: 0.003 of the sampled one and two standard errors of the oracle's."""

Mark = tuple[tuple[tuple[float, ...], tuple[float, ...], float, float], ...]


def written(car: SmallCar) -> tuple[dict[str, str | Sequence[str]], str]:
    """Return the car file of a small car, and its shelf."""
    values: dict[str, str | Sequence[str]] = {
        "car.scale": "HO",
        "body.length": "6",
        "trucks.centers": "4",
        "coupler.pivot_inset": "#1",
        "coupler.length": "#1",
        "coupler.drop": f"{car.drop:.4f} ± {car.drop_t} rect",
        "coupler.target_height": f"{car.target:.4f}",
        "coupler.tolerance": f"{car.limit:.4f}",
        "underframe.bolster": f"{car.bolster:.4f} ± {car.bolster_t} rect",
        "underframe.layers": ["0.060"],
    }
    for i, end in enumerate(ENDS):
        values[f"trucks.{end}.seat_height"] = f"{car.seat[i]:.4f} ± {car.seat_t} rect"
        if car.fitted[i]:
            values[f"trucks.{end}.washers"] = [f"{car.fitted[i]:.4f} ± {car.stock_t} normal"]
        if car.shim[i]:
            values[f"coupler.{end}.shim"] = f"{car.shim[i]:.4f} ± {car.stock_t} normal"
    if car.sill_offset is not None:
        # sill = mean underside + 0.060 - 0.180
        mean = sum(car.seat) / 2 + sum(car.fitted) / 2 + car.bolster
        values["body.lip_depth"] = "0.180"
        values["body.sill_height"] = f"{mean - 0.120 - car.sill_offset:.4f}"
    shelf = f'[[shelf.washer]]\nthickness = "{car.washer} ± {car.stock_t} normal"\ncount = {car.washer_count}\n'
    shelf += "".join(f'[[shelf.sheet]]\nthickness = "{sheet} ± {car.sheet_t} normal"\n' for sheet in car.sheets)
    shelf += "".join(
        f'[[shelf.bolster]]\nheight = "{height} ± {car.stock_t} normal"\ncount = {count}\n'
        for height, count in car.bolsters
    )
    shelf += "".join(
        f'[[shelf.coupler]]\nshank_offset = "{offset} ± {car.stock_t} normal"\ncount = {count}\n'
        for offset, count in car.shanks
    )
    return values, shelf


CARS: Mapping[str, SmallCar] = {
    "low at A": SmallCar(
        seat=(0.282, 0.296), bolster=0.150, drop=0.060, lever=1.25, target=0.391, limit=0.010, washer=0.010,
        washer_count=3, sheets=(0.040,), bolsters=((0.170, 1),), shanks=((0.012, 1),),
    ),
    "low at both ends": SmallCar(
        seat=(0.270, 0.274), bolster=0.150, drop=0.060, lever=1.25, target=0.391, limit=0.008, washer=0.010,
        washer_count=4, sheets=(0.055,), bolsters=((0.175, 2),),
    ),
    "high, with washers to take out": SmallCar(
        seat=(0.300, 0.294), bolster=0.150, drop=0.060, lever=1.25, target=0.391, limit=0.010, washer=0.005,
        washer_count=6, sheets=(0.020,), fitted=(0.015, 0.010), shanks=((-0.012, 2),),
    ),
    "shimmed too much at one end": SmallCar(
        seat=(0.301, 0.301), bolster=0.150, drop=0.060, lever=1.25, target=0.391, limit=0.010, washer=0.010,
        washer_count=2, sheets=(0.030,), shim=(0.020, 0.0),
    ),
    "the sill is wanted higher": SmallCar(
        seat=(0.296, 0.292), bolster=0.150, drop=0.060, lever=1.25, target=0.391, limit=0.010, washer=0.015,
        washer_count=4, sheets=(0.015,), sill_offset=-0.015,
    ),
}  # fmt: skip


def mark_of(car: SmallCar, acts: tuple[Act, Act]) -> Mark:
    """Return what a way ends with at each end: washers, bolster's layers, shim, shank, in thousandths."""
    ends = []
    for i, act in enumerate(acts):
        washers = [car.washer] * act.added + ([car.fitted[i]] if car.fitted[i] and not act.out else [])
        bolster = act.layers or ((act.bought or act.cut or car.bolster),)
        shim = act.shim or (0.0 if act.shim_out else car.shim[i])
        ends.append((_rounded(washers), _rounded(bolster), round(shim * 1000, 2), round(act.shank * 1000, 2)))
    return tuple(ends)


def mark_from(each: Alternative) -> Mark:
    """Return the same of one of the program's alternatives."""
    return tuple(
        (
            _rounded([inches(w) for w in each.washers.at(end)]),
            _rounded([inches(w) for w in each.bolster_layers.at(end)]),
            round(inches(shim) * 1000, 2) if (shim := each.shim.at(end)) is not None else 0.0,
            round(inches(shank) * 1000, 2) if (shank := each.shank_offset.at(end)) is not None else 0.0,
        )
        for end in ENDS
    )


def _rounded(sizes: Sequence[float]) -> tuple[float, ...]:
    return tuple(sorted(round(size * 1000, 2) for size in sizes))


def alike(one: Way, other: Way) -> bool:
    """Return whether two ways leave couplers and body at the same heights: only the simplest of such is listed."""
    pairs = zip((*one.error, one.offset), (*other.error, other.offset), strict=True)
    return all(abs(a - b) <= 1e-4 for a, b in pairs)


@cache
def both(name: str) -> tuple[Plan, dict[Mark, Way]]:
    """Return the program's plan of a small car and every way by brute force, by what it ends with."""
    car = CARS[name]
    by_mark: dict[Mark, Way] = {}
    for way in ways(car):
        mark = mark_of(car, way.acts)
        if mark not in by_mark or way.parts < by_mark[mark].parts:
            by_mark[mark] = way
    return plan_of(*written(car)), by_mark


@pytest.mark.parametrize("name", CARS)
def test_each_cure_is_what_brute_force_makes_of_it(name: str) -> None:
    """Heights, chance, parts, stock and height of the body of every cure listed are those of the oracle."""
    plan, by_mark = both(name)
    car = CARS[name]
    passing = [
        each
        for each in plan.alternatives
        if max(abs(inches(each.error.a)), abs(inches(each.error.b))) <= car.limit + 1e-9
    ]
    assert len(passing) >= 3
    for each in passing:
        way = by_mark[mark_from(each)]
        assert (inches(each.error.a), inches(each.error.b)) == (
            pytest.approx(way.error[0], abs=1e-8),
            pytest.approx(way.error[1], abs=1e-8),
        ), each.name
        assert known(each.pass_probability) == pytest.approx(way.chance, abs=BLUR), each.name
        assert (int(known(each.parts)), each.on_hand) == (way.parts, way.on_hand), each.name
        if car.sill_offset is not None:
            assert inches(each.body_offset) == pytest.approx(way.offset, abs=1e-8), each.name


@pytest.mark.parametrize("name", CARS)
def test_the_first_cures_are_the_first_of_brute_force(name: str) -> None:
    """Of all ways in which both ends pass, those listed come first, in the order of the ranking.

    Chance in bands of 0.02 from the best, all on hand, fewest parts, ends alike, earliest in the order of cures, height
    of the body, nearest to target. Where a chance lies within the two samplings' blur of a band's edge, either band is
    right.
    """
    plan, by_mark = both(name)
    car = CARS[name]
    best = max(way.chance for way in by_mark.values())

    def key(way: Way, chance: float) -> tuple[object, ...]:
        band = int(max(0.0, best - chance) / BAND + 1e-9)
        unlike = (way.acts[0] != way.acts[1]) + (abs(way.error[0] - way.error[1]) >= 0.0005)
        nearness = round(max(abs(each) for each in way.error), 6)
        return (band, not way.on_hand, way.parts, unlike, way.order, round(abs(way.offset), 6), nearness)

    def least(way: Way) -> tuple[object, ...]:
        return key(way, min(best, way.chance + BLUR))

    def greatest(way: Way) -> tuple[object, ...]:
        return key(way, way.chance - BLUR)

    listed = [
        by_mark[mark_from(each)]
        for each in plan.alternatives
        if max(abs(inches(each.error.a)), abs(inches(each.error.b))) <= car.limit + 1e-9
    ]
    for first, second in pairwise(listed):
        assert least(first) <= greatest(second), (first, second)
    left_out = [way for way in by_mark.values() if not any(alike(way, each) for each in listed)]
    before_the_last = [way for way in left_out if listed and greatest(way) < least(listed[-1])]
    assert before_the_last == []


@pytest.mark.parametrize("name", CARS)
def test_of_like_ways_the_simplest_is_listed(name: str) -> None:
    """Of ways that leave couplers and body at the same heights the one listed is on hand, with fewest parts, alike."""
    plan, by_mark = both(name)
    for each in plan.alternatives:
        way = by_mark.get(mark_from(each))
        if way is not None:
            costs = [(not w.on_hand, w.parts, w.acts[0] != w.acts[1]) for w in by_mark.values() if alike(w, way)]
            assert (not way.on_hand, way.parts, way.acts[0] != way.acts[1]) <= min(costs), each.name


@pytest.mark.parametrize("name", CARS)
def test_there_is_room_for_every_cure_that_passes(name: str) -> None:
    """While fewer than twelve are listed, no way in which both ends pass is left out."""
    plan, by_mark = both(name)
    listed = [by_mark[mark] for each in plan.alternatives if (mark := mark_from(each)) in by_mark]
    missing = [way for way in by_mark.values() if not any(alike(way, each) for each in listed)]
    assert len(plan.alternatives) == 12 or missing == []


@pytest.mark.parametrize("name", CARS)
def test_the_list_holds_the_car_as_it_is(name: str) -> None:
    """At most twelve, numbered from 1, the car as it is among them and only once."""
    plan, _ = both(name)
    assert [int(known(each.rank)) for each in plan.alternatives] == list(range(1, len(plan.alternatives) + 1))
    assert len(plan.alternatives) <= 12
    assert sum(each.as_it_is for each in plan.alternatives) == 1
    (as_it_is,) = [each for each in plan.alternatives if each.as_it_is]
    assert (known(as_it_is.parts), as_it_is.on_hand, as_it_is.changes) == (0.0, True, ())
    assert inches(as_it_is.error.a) == pytest.approx(error(plan, "a"), abs=1e-12)


@pytest.mark.parametrize("name", CARS)
def test_each_cure_taken_stands_as_it_was_told(name: str) -> None:
    """Every cure of the list, written into the car's file and planned again, gives its heights and changes no more."""
    plan, _ = both(name)
    document = text_of(*written(CARS[name])).encode()
    for each in plan.alternatives:
        after = make_plan(read_car(set_values(document, dict(each.changes))))
        assert [height(after, end) for end in ENDS] == [
            pytest.approx(inches(each.coupler_height.at(end)), abs=1e-5) for end in ENDS
        ], each.name


def test_ways_that_undo_each_other_are_offered_only_with_a_sill_to_mend() -> None:
    """Washers under the bolster with a shim under the coupler need a reason: a side sill that is wanted higher."""

    def undone(plan: Plan) -> list[Alternative]:
        return [each for each in plan.alternatives if any(each.washers.at(e) and each.shim.at(e) for e in ENDS)]

    wanted, _ = both("the sill is wanted higher")
    assert undone(wanted)
    assert undone(wanted)[0] is wanted.alternatives[0]
    for name in ("low at A", "low at both ends"):
        assert undone(both(name)[0]) == []


SIX_INCHES = {
    "car.scale": "HO",
    "body.length": "6",
    "trucks.centers": "4",
    "coupler.pivot_inset": "#1",
    "coupler.length": "#1",
    "coupler.drop": "0.060",
}
ALIKE = SIX_INCHES | {"trucks.seat_height": "0.280"}
"""Both ends alike; with a bolster of 0.171 in both couplers stand at 0.280 + 0.171 - 0.060 = 0.391 in, on target."""


@pytest.mark.parametrize(
    ("bolster", "obvious"),
    [("0.159", "one 0.010 in washer at each end"), ("0.121", "bolster of 0.080 in + 0.060 in + 0.030 in at each end")],
)
def test_a_car_with_ends_alike_is_offered_the_same_at_both_first(bolster: str, obvious: str) -> None:
    """On an empty shelf the first way does the same at both ends, and no way only repeats another at the other end.

    By hand: 0.012 in low at both ends, a washer of 0.010 in at each leaves both 0.002 in low; one of 0.010 in at A and
    one of 0.015 in at B leaves A 0.012 - 1.25 x 0.010 + 0.25 x 0.015 = 0.00325 in low and B 0.00425 in high: the other
    way about it leaves B low and A high by as much, and is told with it. 0.050 in low at both ends: the layers of
    0.080, 0.060 and 0.030 in make 0.170 in, 0.001 in low at both ends if built at both.
    """
    plan = plan_of(ALIKE | {"underframe.bolster": bolster})
    ways = plan.alternatives
    assert ways[0].name.endswith("at each end")
    assert obvious in [each.name for each in ways[:2]]
    heights = [tuple(round(each.error.at(end).value, 2) for end in ENDS) for each in ways]
    apart = [each for each in heights if each[0] != each[1]]
    assert not [each for each in apart if each[::-1] in apart]
    mirrored = [each for each in ways if each.mirrored]
    assert mirrored
    assert all("Or the same with A and B changed over." in each.because for each in mirrored)
    assert not any(each.name.endswith("at each end") for each in mirrored)
    if bolster == "0.159":
        (one,) = [each for each in ways if each.name == "one 0.010 in washer at A; one 0.015 in washer at B"]
        assert (inches(one.error.a), inches(one.error.b)) == (
            pytest.approx(-0.00325, abs=1e-9),
            pytest.approx(0.00425, abs=1e-9),
        )


def test_what_fails_is_not_listed_beside_what_is_on_hand_and_passes() -> None:
    """With a washer on hand that brings both couplers in, no way that leaves one outside its limit is offered."""
    shelf = '[[shelf.washer]]\nthickness = "0.010"\n'
    plan = plan_of(ALIKE | {"underframe.bolster": "0.155"}, shelf)
    assert plan.alternatives[0].on_hand
    outside = [each.name for each in plan.alternatives if max(abs(inches(each.error.at(e))) for e in ENDS) > 0.010]
    assert outside == ["the car as it is"]


HOPELESS = SIX_INCHES | {
    "trucks.seat_height": "0.300",
    "trucks.a.seat_height": "0.278",
    "underframe.bolster": "0.150",
}
"""A: 1.25 x 0.428 - 0.25 x 0.450 - 0.060 - 0.391 = -0.0285 in;  B: 1.25 x 0.450 - 0.25 x 0.428 - 0.451 = +0.0045 in."""

THICK = '[[shelf.washer]]\nthickness = "0.060"\ncount = 4\n[[shelf.sheet]]\nthickness = "0.200"\n'


def test_where_nothing_on_the_shelf_helps_the_limit_that_binds_is_named() -> None:
    """With washers of 0.060 and sheet of 0.200 in nothing brings A up 0.0285 in: the finding names ± 0.010 in at A."""
    plan = plan_of(HOPELESS, THICK)
    assert error(plan, "a") == pytest.approx(-0.0285, abs=1e-9)
    assert error(plan, "b") == pytest.approx(0.0045, abs=1e-9)
    finding = next(each for each in plan.findings if each.check == "no_cure")
    assert finding.verdict == "fail"
    assert "0.010 in at A" in finding.because
    assert inches(finding.limit) == pytest.approx(0.010, abs=1e-9)
    assert "truck A" in finding.mend


def test_the_single_change_named_brings_both_ends_in() -> None:
    """Planned again with that change both ends pass; at the ends of its interval one of them stands on its limit.

    By hand: raising truck A by d gives A -0.0285 + 1.25 d, B 0.0045 - 0.25 d; both within ± 0.010 from 0.0148 to
    0.0308; The larger of the two is least where they are alike, -0.0285 + 1.25 d = 0.0045 - 0.25 d, d = 0.022: both
    0.001 low.
    """
    plan = plan_of(HOPELESS, THICK)
    specs = Ends(spec_of(plan.car, "a"), spec_of(plan.car, "b"))
    change = single_change(plan.ride, specs)
    assert change is not None
    assert (change.where, change.end) == ("over truck", "a")
    assert change.low_mm / 25.4 == pytest.approx(0.0148, abs=1e-9)
    assert change.high_mm / 25.4 == pytest.approx(0.0308, abs=1e-9)
    assert change.best_mm / 25.4 == pytest.approx(0.022, abs=0.016 / 200)  # searched in 200 steps of the interval

    def after(rise_mm: float) -> Plan:
        return plan_of(HOPELESS | {"underframe.a.bolster": f"{0.150 + rise_mm / 25.4:.6f} ± 0.001"}, THICK)

    best = after(change.best_mm)
    assert max(abs(error(best, end)) for end in ENDS) < 0.002
    assert not any(each.check == "no_cure" for each in best.findings)
    for rise, inside in ((change.low_mm, 0.001), (change.high_mm, -0.001)):
        assert max(abs(error(after(rise), end)) for end in ENDS) == pytest.approx(0.010, abs=1e-6)
        assert max(abs(error(after(rise + inside), end)) for end in ENDS) < 0.010
        assert max(abs(error(after(rise - inside), end)) for end in ENDS) > 0.010


def test_a_coupler_on_its_truck_is_freed_at_the_coupler() -> None:
    """With couplers on the trucks and no shank on the shelf the single change is at the coupler itself."""
    values = HOPELESS | {"coupler.mount": "truck", "coupler.a.height": "0.370", "coupler.b.height": "0.392"}
    plan = plan_of(values, THICK)
    finding = next(each for each in plan.findings if each.check == "no_cure")
    assert "coupler A" in finding.mend
    change = single_change(plan.ride, Ends(spec_of(plan.car, "a"), spec_of(plan.car, "b")))
    assert change is not None
    assert (change.where, change.end) == ("at coupler", "a")
    assert change.best_mm / 25.4 == pytest.approx(0.021, abs=0.020 / 200)


def test_two_ends_that_err_apart_have_no_single_change() -> None:
    """A 0.04 low and B 0.04 high: no one change serves both, and the finding says so."""
    values = HOPELESS | {"coupler.mount": "truck", "coupler.a.height": "0.351", "coupler.b.height": "0.431"}
    plan = plan_of(values, THICK)
    assert single_change(plan.ride, Ends(spec_of(plan.car, "a"), spec_of(plan.car, "b"))) is None
    assert "both ends" in next(each for each in plan.findings if each.check == "no_cure").mend


def test_other_wheels_cure_couplers_on_their_trucks() -> None:
    """Couplers on trucks 0.019 in low rise by half of what larger wheels have more: 36 for 33 in, 1.5/87.1 in."""
    values = HOPELESS | {
        "coupler.mount": "truck",
        "coupler.height": "0.372",
        "trucks.wheel_diameter": "33 in scale",
    }
    first = plan_of(values, THICK).alternatives[0]
    assert first.name.startswith("36 in wheels")
    for end in ENDS:
        assert inches(first.error.at(end)) == pytest.approx(0.372 + 1.5 / 87.1 - 0.391, abs=1e-9)
    assert not first.on_hand


def test_a_built_bolster_is_the_best_laminate_at_each_end() -> None:
    """``bolster = "build"`` takes at each end the fewest layers that miss the wanted height by at most 0.003 in.

    Wanted 0.391 + 0.060 less each seat: 0.151 at B, 0.172 at A. From sheets of 0.080, 0.040 and 0.030, by hand: two
    layers give 0.160, 0.120, 0.110, 0.080, 0.070, 0.060; of three only 0.080 + 0.040 + 0.030 = 0.150 fits B, none A;
    of four 0.080 + 0.030 + 0.030 + 0.030 = 0.170 fits A.
    Errors: A 1.25 x -0.002 - 0.25 x -0.001 = -0.00225;  B 1.25 x -0.001 - 0.25 x -0.002 = -0.00075.
    """
    shelf = "".join(f'[[shelf.sheet]]\nthickness = "{each}"\n' for each in ("0.080", "0.040", "0.030"))
    values = HOPELESS | {
        "trucks.a.seat_height": "0.279",
        "underframe.bolster": "build",
        "body.inside_length": "5.800",
        "body.inside_width": "1.100",
    }
    plan = plan_of(values, shelf)
    pieces = {piece.name: piece for piece in plan.pieces}
    assert inches(pieces["bolster_a"].thickness_mm) == pytest.approx(0.170, abs=1e-9)
    assert inches(pieces["bolster_b"].thickness_mm) == pytest.approx(0.150, abs=1e-9)
    assert error(plan, "a") == pytest.approx(-0.00225, abs=1e-9)
    assert error(plan, "b") == pytest.approx(-0.00075, abs=1e-9)


def test_a_bolster_to_be_built_is_said_with_the_seat_it_is_built_for() -> None:
    """Another truck seat makes another bolster where the file leaves it to the plan: the plan says so, with numbers."""
    text = cars.CARS["n_car"]
    told = {each.check: each.because for each in make_plan(read_car(text)).findings}
    assert "Bolster A is to be built: 0.020 in + 0.020 in" in told["bolster_built_a"]
    assert "for a truck seat of " in told["bolster_built_a"]
    assert "bolster_built_a" not in {each.check for each in make_plan(read_car(cars.CARS["boxcar"])).findings}


def test_ways_to_stand_are_told_in_plain_words() -> None:
    """A shim is told by where it goes, a recess by how deep the box is let in, a bolster by what it is cut down to."""
    told = "; ".join(
        way.name
        for name in ("other wheels, washers", "built bolster")
        for way in make_plan(read_car(cars.CARS[name])).alternatives
    )
    assert "0.030 in shim between coupler box and floor at B" in told
    assert "coupler box let 0.030 in into the floor" in told
    assert "bolster cut down to 0.148 in at A" in told


@pytest.mark.parametrize("name", sorted(cars.CARS))
def test_the_list_follows_the_order_that_is_told(name: str) -> None:
    """Both ends inside, chance in steps of 0.02 from the best, the shelf before the shop, fewest parts: in that order.

    What is to be bought is named just where a way is not all on the shelf.
    """
    plan = make_plan(read_car(cars.CARS[name].encode()))
    ways = plan.alternatives
    best = max((each.pass_probability.value for each in ways), default=0.0)
    limits = [plan.ride.ends.at(end).limit for end in ENDS]

    def place(way: Alternative) -> tuple[int, int, bool, float]:
        out = sum(
            abs(way.error.at(end).value) > limit.value + 1e-9
            for end, limit in zip(ENDS, limits, strict=True)
            if limit is not None
        )
        return out, int((best - way.pass_probability.value) / 0.02 + 1e-9), not way.on_hand, way.parts.value

    places = [place(each) for each in ways]
    assert places == sorted(places)
    assert [bool(each.to_buy) for each in ways] == [not each.on_hand for each in ways]
