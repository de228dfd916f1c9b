"""The stack from the rail to the coupler at both ends, solved together, with the doubt of each height.

A body is a rigid beam on its two trucks. With u the floor's underside over each truck pivot, x the pivots and f the
coupler's pulling face (where the height is gauged), the underside at the face of end X is

    u_X + (u_A - u_B) (f_X - x_X) / (x_A - x_B)

so that the weight of truck A's height at that face is  l = (f_X - x_B)/(x_A - x_B), and that of truck B's is 1 - l.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from carwright.car.model import ENDS, Car, End, Ends
from carwright.ride.doubts import Doubts, chances, widths
from carwright.ride.model import EndRide, EndSpec, Layer, Part, Ride, Target
from carwright.working import Working, derive, derived

__all__ = ["bolster_of", "parts_of", "solve_ride", "spec_of", "worse_end"]


def parts_of(readings: Sequence[Working], name: str) -> tuple[Part, ...]:
    """Return each reading as a part that is its own variable.

    Args:
        readings: thickness or height of each, mm, in the order of the file.
        name: of one of them; where there are several, each gets its number.
    """
    many = len(readings) > 1
    return tuple(
        Part(f"{name} {i + 1}" if many else name, reading, f"{name} {i + 1}") for i, reading in enumerate(readings)
    )


def bolster_of(layers: Sequence[tuple[Working, str]], letter: str) -> tuple[Part, ...]:
    """Return a bolster's layers; those of a laminate that are written alike are taken to be cut from one sheet.

    Args:
        layers: thickness of each, undermost first, and how it stands in the car file, or would stand there.
        letter: of the end, "A" or "B".
    """
    if len(layers) < 2:
        return parts_of([size for size, _ in layers], f"bolster {letter}")
    return tuple(
        Part(f"bolster {letter}, layer {i + 1}", size, f"sheet {text}") for i, (size, text) in enumerate(layers)
    )


def spec_of(
    car: Car, end: End, *, bolster: tuple[Part, ...] | None = None, glue_line: Working | None = None
) -> EndSpec:
    """Return what the car file says of one end.

    Args:
        car: the car.
        end: "a" or "b".
        bolster: the layers that stand in for those of the file, where the plan builds the bolster.
        glue_line: thickness of each joint of a laminated bolster, where the glue has one.
    """
    truck, coupler, letter = car.trucks.at(end), car.coupler.at(end), end.upper()
    readings = car.underframe.bolster.at(end)
    layers = bolster_of([(each, each.text) for each in readings], letter) if bolster is None else bolster
    wheels_run = truck.wheels
    if wheels_run is not None and truck.wheel_diameter is not None and wheels_run.key == truck.wheel_diameter.key:
        wheels_run = None
    return EndSpec(
        end=end,
        mount=coupler.mount,
        seat=truck.seat_height,
        wheels_measured=truck.wheel_diameter,
        wheels_run=wheels_run,
        washers=parts_of(truck.washers, f"washer {letter}"),
        bolster=layers,
        glue_line=glue_line,
        shim=parts_of((coupler.shim,) if coupler.shim is not None else (), f"shim {letter}"),
        recess=coupler.recess,
        drop=coupler.drop,
        shank_offset=coupler.shank_offset,
        droop=coupler.droop,
        truck_height=coupler.height,
        centers=truck.centers,
        inset=truck.inset,
        body_length=car.body.length,
        pivot_inset=coupler.pivot_inset,
        coupler_length=coupler.length,
        found=car.found.ends.at(end).coupler_height,
    )


def _underside(spec: EndSpec) -> tuple[Working | None, tuple[Layer, ...], tuple[str, ...]]:
    """Return the floor's underside over this end's truck pivot, the layers below it, and what is missing."""
    needs = tuple(
        key
        for key, value in (("trucks.seat_height", spec.seat), ("underframe.bolster", spec.bolster or None))
        if value is None
    )
    if spec.seat is None:
        return None, (), needs
    letter = spec.end.upper()
    terms, inputs = ["J"], {"J": spec.seat}
    layers: list[Layer] = []

    def reach(name: str) -> Working:
        return derived(name, " + ".join(terms), dict(inputs), source="stack of measured parts")

    if spec.wheels_run is not None and spec.wheels_measured is not None:
        terms.append("(w2 - w1)/2")
        inputs |= {"w2": spec.wheels_run, "w1": spec.wheels_measured}
    below = reach(f"truck seat {letter}")
    rail = derive("top of the rail", "0")
    layers.append(Layer("truck seat", rail, below))
    for symbol, parts in (("v", spec.washers), ("K", spec.bolster)):
        for i, part in enumerate(parts):
            key = f"{symbol}{i + 1}" if len(parts) > 1 else symbol
            terms.append(key)
            inputs[key] = part.size
            if symbol == "K" and i and spec.glue_line is not None:
                terms.append("g")
                inputs["g"] = spec.glue_line
            above = reach(f"top of {part.name}")
            layers.append(Layer(part.name, below, above))
            below = above
    if needs:
        return None, tuple(layers), needs
    return reach(f"floor underside at truck {letter}"), tuple(layers), ()


def _places(spec: EndSpec) -> tuple[Working | None, Working | None, tuple[str, ...]]:
    """Return the truck pivot's and the pulling face's place along the car, and what is missing."""
    letter, sign = spec.end.upper(), "" if spec.end == "a" else "-"
    needs = []
    pivot: Working | None = None
    if spec.centers is not None:
        pivot = derive(f"truck pivot {letter} from mid-car", f"{sign}H/2", H=spec.centers)
    elif spec.inset is not None and spec.body_length is not None:
        pivot = derive(f"truck pivot {letter} from mid-car", f"{sign}(A/2 - i)", A=spec.body_length, i=spec.inset)
    else:
        needs.append("trucks.centers")
    face: Working | None = None
    for key, value in (
        ("body.length", spec.body_length),
        ("coupler.pivot_inset", spec.pivot_inset),
        ("coupler.length", spec.coupler_length),
    ):
        if value is None:
            needs.append(key)
    if spec.body_length is not None and spec.pivot_inset is not None and spec.coupler_length is not None:
        face = derive(
            f"pulling face {letter} from mid-car",
            f"{sign}(A/2 - M + N)",
            A=spec.body_length,
            M=spec.pivot_inset,
            N=spec.coupler_length,
        )
    return pivot, face, tuple(needs)


def _alike(a: EndSpec, b: EndSpec) -> bool:
    """Return whether both trucks stand alike by the same entries of the file: the car is level, whatever they are."""

    def marks(spec: EndSpec) -> tuple[str, ...]:
        sizes = (spec.seat, spec.wheels_measured, spec.wheels_run, *(p.size for p in (*spec.washers, *spec.bolster)))
        return tuple("" if each is None else each.key for each in sizes)

    return marks(a) == marks(b)


def _coupler(spec: EndSpec, face: Working | None) -> tuple[Working | None, tuple[str, ...]]:
    """Return the coupler's height from the mounting face, or from the truck, and what is missing."""
    letter = spec.end.upper()
    what = "pocket top" if spec.mount == "pocket" else "coupler height"
    inputs: dict[str, Working] = {}
    if spec.mount == "truck":
        if spec.truck_height is None:
            return None, ("coupler.height",)
        formula = "h"
        inputs["h"] = spec.truck_height
        if spec.wheels_run is not None and spec.wheels_measured is not None:
            formula += " + (w2 - w1)/2"
            inputs |= {"w2": spec.wheels_run, "w1": spec.wheels_measured}
    else:
        if spec.drop is None:
            return None, ("coupler.drop",)
        if face is None:
            return None, ()
        formula = "m - L"
        inputs |= {"m": face, "L": spec.drop}
    if spec.shank_offset is not None:
        formula += " + o"
        inputs["o"] = spec.shank_offset
    if spec.droop is not None:
        formula += " - d"
        inputs["d"] = spec.droop
    return derived(f"{what} at {letter}", formula, inputs), ()


def _own_doubts(spec: EndSpec, doubts: Doubts) -> None:
    """Add what moves this end's coupler on its own: everything from the floor's underside down to the centre line."""
    letter = spec.end.upper()

    def own(group: str, name: str, reading: Working | None, factor: float) -> None:
        term = (factor, None)
        doubts.add(
            group,
            name,
            reading,
            at_a=term if spec.end == "a" else None,
            at_b=term if spec.end == "b" else None,
        )

    if spec.mount == "truck":
        own(f"height {letter}", f"coupler on truck {letter}", spec.truck_height, 1.0)
        if spec.wheels_run is not None:
            own(f"wheels as measured {letter}", f"wheels {letter} as measured", spec.wheels_measured, -0.5)
            own(f"wheels {letter}", f"wheels {letter}", spec.wheels_run, 0.5)
    else:
        for part in spec.shim:
            own(part.group, part.name, part.size, -1.0)
        own(f"recess {letter}", f"recess {letter}", spec.recess, 1.0)
        own(f"drop {letter}", f"drop of coupler {letter}", spec.drop, -1.0)
    own(f"shank {letter}", f"shank offset {letter}", spec.shank_offset, 1.0)
    own(f"droop {letter}", f"droop {letter}", spec.droop, -1.0)


def _terms(spec: EndSpec) -> list[tuple[str, Working]]:
    """Return what lies between rail and floor at one truck, each with its sign and share in the height."""
    terms: list[tuple[str, Working]] = []
    if spec.seat is not None:
        terms.append(("", spec.seat))
    if spec.wheels_run is not None and spec.wheels_measured is not None:
        terms += [("0.5*", spec.wheels_run), ("-0.5*", spec.wheels_measured)]
    terms += [("", part.size) for part in (*spec.washers, *spec.bolster)]
    if spec.glue_line is not None:
        terms += [("", spec.glue_line)] * (len(spec.bolster) - 1)
    return terms


def _higher_at_a(a: EndSpec, b: EndSpec) -> Working:
    """Return how much higher the floor stands over truck A than over B: what is alike at both ends does not enter."""
    at_a, at_b = _terms(a), _terms(b)
    for factor, size in tuple(at_a):
        for other in at_b:
            if other[0] == factor and other[1].key and other[1].key == size.key:
                at_a.remove((factor, size))
                at_b.remove(other)
                break
    inputs = {f"a{i + 1}": size for i, (_, size) in enumerate(at_a)}
    inputs |= {f"b{i + 1}": size for i, (_, size) in enumerate(at_b)}
    plus = " + ".join(f"{factor}a{i + 1}" for i, (factor, _) in enumerate(at_a)) or "0"
    minus = " + ".join(f"{factor}b{i + 1}" for i, (factor, _) in enumerate(at_b))
    return derived(
        "floor over truck A higher than over truck B",
        f"{plus} - ({minus})" if minus else plus,
        inputs,
        note="what stands alike at both ends does not enter",
    )


@dataclass(frozen=True, slots=True)
class _Beam:
    """The rigid beam: places, weights of truck A at each face, and the slope (None where the car stands level)."""

    pivot: Ends[Working | None]
    face: Ends[Working | None]
    lever: Ends[Working | None]
    slope: Working | None


def _beam(a: EndSpec, b: EndSpec, under: Ends[Working | None]) -> tuple[_Beam, tuple[str, ...]]:
    pivot_a, face_a, needs_a = _places(a)
    pivot_b, face_b, needs_b = _places(b)
    lever: dict[End, Working | None] = {"a": None, "b": None}
    slope: Working | None = None
    if pivot_a is not None and pivot_b is not None:
        ends: tuple[tuple[End, Working | None], ...] = (("a", face_a), ("b", face_b))
        for end, face in ends:
            if face is not None:
                lever[end] = derive(
                    f"weight of truck A at pulling face {end.upper()}",
                    "(f - xb)/(xa - xb)",
                    "",
                    note="a rigid beam on two supports",
                    source="statics of a rigid beam",
                    f=face,
                    xb=pivot_b,
                    xa=pivot_a,
                )
        if under.a is not None and under.b is not None and not _alike(a, b):
            slope = derive(
                "slope of the floor, up toward A",
                "d/(xa - xb)",
                "",
                d=_higher_at_a(a, b),
                xa=pivot_a,
                xb=pivot_b,
            )
    beam = _Beam(Ends(pivot_a, pivot_b), Ends(face_a, face_b), Ends(lever["a"], lever["b"]), slope)
    return beam, tuple(dict.fromkeys((*needs_a, *needs_b)))


def _body_doubts(a: EndSpec, b: EndSpec, beam: _Beam, doubts: Doubts) -> None:
    """Add what moves both couplers through the beam: trucks, wheels, washers, bolsters, and places along the car."""
    on_body = Ends(a.mount != "truck", b.mount != "truck")
    other = Ends(
        *(
            None if lever is None else derive(f"weight of truck B at pulling face {letter}", "1 - l", "", l=lever)
            for lever, letter in ((beam.lever.a, "A"), (beam.lever.b, "B"))
        )
    )
    alike = Counter(part.group for spec in (a, b) for part in (*spec.washers, *spec.bolster))
    for spec in (a, b):
        letter, weight = spec.end.upper(), beam.lever if spec.end == "a" else other

        def through(
            group: str, name: str, reading: Working | None, factor: float, weight: Ends[Working | None] = weight
        ) -> None:
            doubts.add(
                group,
                name,
                reading,
                at_a=(factor, weight.a) if on_body.a else None,
                at_b=(factor, weight.b) if on_body.b else None,
            )

        through(f"seat {letter}", f"truck seat {letter}", spec.seat, 1.0)
        if spec.wheels_run is not None:
            through(f"wheels as measured {letter}", f"wheels {letter} as measured", spec.wheels_measured, -0.5)
            through(f"wheels {letter}", f"wheels {letter}", spec.wheels_run, 0.5)
        for part in (*spec.washers, *spec.bolster):
            through(part.group, _sheet_named(part, alike[part.group]), part.size, 1.0)
    if beam.slope is not None:
        _place_doubts(a, b, beam, on_body, doubts)


def _sheet_named(part: Part, layers: int) -> str:
    """Return what a doubt is called: the sheet, where several layers of both ends are cut from it and share it."""
    if layers < 2:
        return part.name
    return f"{part.size.text or f'{part.size.value:g} mm'} sheet of {layers} layers"


def _place_doubts(a: EndSpec, b: EndSpec, beam: _Beam, on_body: Ends[bool], doubts: Doubts) -> None:
    """Add the readings along the car: on a floor that is not level they move the heights a little."""
    slope = beam.slope
    assert slope is not None
    by_centers = a.centers is not None
    pivots: dict[str, dict[str, Working]] = {"A": {}, "B": {}}  # how coupler A and B answer to pivots xa, xb
    for letter, lever in (("A", beam.lever.a), ("B", beam.lever.b)):
        assert lever is not None
        pivots[letter] = {
            "xa": derive(f"change of coupler height {letter} with pivot A", "-g*l", "", g=slope, l=lever),
            "xb": derive(f"change of coupler height {letter} with pivot B", "-g*(1 - l)", "", g=slope, l=lever),
        }

    def along(group: str, name: str, reading: Working | None, terms: Ends[list[tuple[float, Working]]]) -> None:
        for i in range(max(len(terms.a), len(terms.b))):
            doubts.add(
                group,
                name,
                reading,
                at_a=terms.a[i] if on_body.a and i < len(terms.a) else None,
                at_b=terms.b[i] if on_body.b and i < len(terms.b) else None,
            )

    if by_centers:
        along(
            "centers",
            "truck centres",
            a.centers,
            Ends(
                [(0.5, pivots["A"]["xa"]), (-0.5, pivots["A"]["xb"])],
                [(0.5, pivots["B"]["xa"]), (-0.5, pivots["B"]["xb"])],
            ),
        )
    else:
        along("inset A", "inset of truck A", a.inset, Ends([(-1.0, pivots["A"]["xa"])], [(-1.0, pivots["B"]["xa"])]))
        along("inset B", "inset of truck B", b.inset, Ends([(1.0, pivots["A"]["xb"])], [(1.0, pivots["B"]["xb"])]))
    length: Ends[list[tuple[float, Working]]] = Ends([(0.5, slope)], [(-0.5, slope)])
    if not by_centers:
        length.a.extend([(0.5, pivots["A"]["xa"]), (-0.5, pivots["A"]["xb"])])
        length.b.extend([(0.5, pivots["B"]["xa"]), (-0.5, pivots["B"]["xb"])])
    along("body length", "length over the ends", a.body_length, length)
    along("pivot A", "pivot inset of coupler A", a.pivot_inset, Ends([(-1.0, slope)], []))
    along("pivot B", "pivot inset of coupler B", b.pivot_inset, Ends([], [(1.0, slope)]))
    along("length A", "length of coupler A", a.coupler_length, Ends([(1.0, slope)], []))
    along("length B", "length of coupler B", b.coupler_length, Ends([], [(-1.0, slope)]))


def solve_ride(a: EndSpec, b: EndSpec, targets: Ends[Target | None], *, brief: bool = False) -> Ride:
    """Return both ends' heights above the rail, with worst case, root sum square, chance and shares of the doubt.

    Args:
        a: the stack at end A.
        b: the stack at end B.
        targets: where each coupler should stand; None where no target is known.
        brief: leave out worst case, root sum square and shares, which a search among many cars does not need.

    Returns:
        ``Ride``; whatever a missing measurement leaves open is None, and ``needs`` of that end names the measurement.
    """
    under_a, layers_a, needs_a = _underside(a)
    under_b, layers_b, needs_b = _underside(b)
    under: Ends[Working | None] = Ends(under_a, under_b)
    beam, needs_places = _beam(a, b, under)
    level = under_a is not None and under_b is not None and _alike(a, b)
    doubts = Doubts()
    results: dict[End, EndRide] = {}
    heights: dict[End, Working | None] = {}
    for spec, layers, own_needs in ((a, layers_a, needs_a), (b, layers_b, needs_b)):
        end, letter = spec.end, spec.end.upper()
        face = None if spec.mount == "truck" else _mounting_face(spec, under, beam, level=level)
        height, coupler_needs = _coupler(spec, face)
        needs = list(coupler_needs)
        if spec.mount != "truck":
            needs = [*own_needs, *needs]
            if under.a is None or under.b is None:
                needs += [key for key in (*needs_a, *needs_b) if key not in needs]
            needs += [key for key in needs_places if key not in needs]
        target = targets.at(end)
        measured_at = target.measured_at if target else ("pocket top" if spec.mount == "pocket" else "centre line")
        if height is None and spec.found is not None:
            height = spec.found.renamed(
                f"coupler height at {letter}, as found", note="the stack below it is not complete"
            )
            doubts.add(
                f"found {letter}",
                f"height found at {letter}",
                spec.found,
                at_a=(1.0, None) if end == "a" else None,
                at_b=(1.0, None) if end == "b" else None,
            )
            needs = []
        elif height is not None:
            _own_doubts(spec, doubts)
        heights[end] = height
        stack = layers
        if face is not None and height is not None:
            stack = (*layers, Layer("coupler", height, face))
        results[end] = EndRide(
            end,
            measured_at,
            bolster_underside=layers[1 + len(spec.washers)].bottom if spec.bolster and layers else None,
            floor_underside=under.at(end),
            mounting_face=face,
            coupler_height=height,
            target=target.height if target else None,
            limit=target.limit if target else None,
            error=derive(f"error of the height at {letter}", "h - T", h=height, T=target.height)
            if height is not None and target is not None
            else None,
            found=spec.found,
            predicted_minus_found=derive(f"predicted less found at {letter}", "h - c", h=height, c=spec.found)
            if height is not None and spec.found is not None and not height.name.endswith("as found")
            else None,
            x_pivot=beam.pivot.at(end),
            x_face=beam.face.at(end),
            stack=stack,
            needs=tuple(needs),
        )
    return _with_doubt(a, b, beam, results, heights, doubts, brief=brief)


def _mounting_face(spec: EndSpec, under: Ends[Working | None], beam: _Beam, *, level: bool) -> Working | None:
    """Return the mounting face at this end's pulling face, or None while it is unknown."""
    here, letter = under.at(spec.end), spec.end.upper()
    if here is None:
        return None
    inputs: dict[str, Working] = {"u": here}
    formula = "u"
    note = "both ends stand alike, so the floor is level and the place along the car does not enter" if level else ""
    if not level:
        face, pivot = beam.face.at(spec.end), beam.pivot.at(spec.end)
        if beam.slope is None or face is None or pivot is None:
            return None
        inputs["s"] = derive(
            f"step of the underside from truck {letter} to pulling face {letter}",
            "g*(f - x)",
            g=beam.slope,
            f=face,
            x=pivot,
        )
        formula += " + s"
    for i, part in enumerate(spec.shim):
        formula += f" - i{i + 1}"
        inputs[f"i{i + 1}"] = part.size
    if spec.recess is not None:
        formula += " + r"
        inputs["r"] = spec.recess
    return derived(f"mounting face at {letter}", formula, inputs, note=note)


def worse_end(errors: Mapping[End, Working]) -> End | None:
    """Return the end with the larger absolute error, A where they are alike, None where neither is known."""
    known = [(abs(errors[end].value), end == "a", end) for end in ENDS if end in errors]
    return max(known)[2] if known else None


def _with_doubt(
    a: EndSpec,
    b: EndSpec,
    beam: _Beam,
    results: dict[End, EndRide],
    heights: dict[End, Working | None],
    doubts: Doubts,
    *,
    brief: bool,
) -> Ride:
    on_body = [spec for spec in (a, b) if spec.mount != "truck" and results[spec.end].mounting_face is not None]
    counted_on = on_body and all(heights[spec.end] is not None for spec in on_body)
    complete = all(beam.lever.at(spec.end) is not None for spec in on_body)
    if counted_on and complete:
        _body_doubts(a, b, beam, doubts)
    contributors = doubts.contributors() if complete else ()
    found: dict[str, Working] = {}
    if complete and any(heights.values()):
        found = chances(
            Ends(results["a"].error, results["b"].error),
            Ends(results["a"].limit, results["b"].limit),
            contributors,
            brief=brief,
        )
    for end in ENDS:
        if heights[end] is None or not complete:
            continue
        results[end] = replace(results[end], pass_probability=found.get(end))
        if not brief:
            worst, rss, shares = widths(end.upper(), contributors)
            results[end] = replace(results[end], worst_case=worst, rss=rss, shares=shares)
    errors = {end: result.error for end, result in results.items() if result.error is not None}
    worse = worse_end(errors)
    return Ride(Ends(results["a"], results["b"]), worse, found.get("both"), contributors, beam.lever, beam.slope)
