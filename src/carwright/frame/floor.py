"""The floor: how thick, of which layers, how large, with which notches, and whether the inside of the body is true."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from carwright.car.model import Body, Car
from carwright.findings import Finding, listed
from carwright.laminate import laminate
from carwright.lengths import exact_in, show_in
from carwright.pieces import Point
from carwright.reference import practice_value
from carwright.reference.usual import usual_sheets
from carwright.working import Working, counted, derive, derived

__all__ = ["MOST_FLOOR_LAYERS", "Floor", "SheetOffer", "design_floor", "fit_of", "opening_of"]

MOST_FLOOR_LAYERS = 6


@dataclass(frozen=True, slots=True)
class SheetOffer:
    """A thickness of sheet that may be used, on the shelf or (``on_hand`` False) to be bought."""

    thickness: Working
    on_hand: bool
    label: str


@dataclass(frozen=True, slots=True)
class Floor:
    """The floor; whatever a missing measurement leaves open is None, and ``needs`` names it.

    ``layers`` run from the underside up. ``stays`` says that the floor is there already and is not cut. ``made_of`` is
    what its screws hold in.
    """

    stays: bool
    material: str
    made_of: Literal["plastic", "metal", "wood"]
    wanted_thickness: Working | None
    layers: tuple[Working, ...]
    layers_on_hand: tuple[bool, ...]
    thickness: Working | None
    error: Working | None
    length: Working | None
    width: Working | None
    cut_length: Working | None
    cut_width: Working | None
    area: Working | None
    outline: tuple[Point, ...]
    corner: tuple[Working, Working] | None
    sill_rise: Working | None
    """Bottom of the side sill above the floor's underside (negative: below), mm."""
    findings: tuple[Finding, ...]
    needs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Made:
    """The floor's thickness as wanted and as made, its layers from the underside up, and whether each is on hand."""

    wanted: Working | None
    layers: tuple[Working, ...]
    on_hand: tuple[bool, ...]
    thickness: Working | None
    findings: tuple[Finding, ...] = ()
    needs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Shape:
    """The floor seen from above: corners anticlockwise from the right-hand rear of end A, area, corner notch."""

    outline: tuple[Point, ...] = ()
    area: Working | None = None
    corner: tuple[Working, Working] | None = None
    findings: tuple[Finding, ...] = ()


def _least(name: str, readings: Sequence[Working], note: str) -> Working:
    least = min(readings, key=lambda each: each.value)
    if len(readings) == 1:
        return least
    listed = ", ".join(each.text or f"{each.value:.3f} mm" for each in readings)
    return derive(name, "x", note=f"{note}: the smallest of {listed}", x=least)


def fit_of(car: Car) -> Working:
    """Return the allowance on each side of the floor, mm: the file's, else sanded fit and paint."""
    if car.underframe.fit is not None:
        return car.underframe.fit
    return derive(
        "allowance a side",
        "s + p",
        note="sanded fit and paint; our own choice, in every scale",
        s=practice_value("fit_sanded"),
        p=practice_value("fit_paint"),
    )


def opening_of(car: Car) -> tuple[Working | None, Working | None, list[str]]:
    """Return the opening that the floor must go into (along, across), and what is missing."""
    body, needs = car.body, []
    along = (
        _least("inside length", body.inside_length, "the floor must pass everywhere") if body.inside_length else None
    )
    across = _least("inside width", body.inside_width, "the floor must pass everywhere") if body.inside_width else None
    if along is None and body.length is not None and body.end_wall is not None:
        along = derive(
            "inside length, from the outside",
            "A - 2*e",
            A=body.length,
            e=body.end_wall,
            note="not measured inside: length less both end walls",
        )
    if across is None and body.width is not None and body.wall is not None:
        across = derive(
            "inside width, from the outside",
            "B - 2*w",
            B=body.width,
            w=body.wall,
            note="not measured inside: width less both walls",
        )
    if along is None:
        needs.append("body.inside_length")
    if across is None:
        needs.append("body.inside_width")
    return along, across, needs


def _deck(car: Car) -> tuple[Working | None, Working | None, list[str]]:
    body, needs = car.body, []
    if body.length is None:
        needs.append("body.length")
    if body.width is None:
        needs.append("body.width")
    return body.length, body.width, needs


def _thickness(car: Car, offers: Sequence[SheetOffer]) -> _Made:
    """Return the thickness of a new floor: of the layers that the file chose, else of those nearest what is wanted."""
    body, units = car.body, car.info.units
    findings: list[Finding] = []
    needs: list[str] = []
    wanted: Working | None = None
    if body.ledge == "over":
        if body.lip_depth is not None and body.end_notch is not None:
            wanted = derive(
                "wanted thickness of the floor",
                "E - F",
                E=body.lip_depth,
                F=body.end_notch,
                note="so that its underside is level with the top of the coupler opening",
            )
        else:
            needs += [
                k for k, v in (("body.lip_depth", body.lip_depth), ("body.end_notch", body.end_notch)) if v is None
            ]
    chosen = car.underframe.layers
    on_hand = tuple(True for _ in chosen)
    window = practice_value("laminate_window")
    if not chosen and body.ledge == "under":
        default = practice_value("floor_thickness_ho")
        ratio = car.info.ratio
        wanted = default
        if ratio is not None:
            wanted = derive(
                "usual thickness of a floor that lies on its ledge",
                "t*87.1/n",
                t=default,
                n=ratio,
                note="nothing of the car decides it: our own choice, in proportion to the scale",
            )
    if not chosen and wanted is not None and wanted.value > 0:
        made = laminate(
            [offer.thickness.value for offer in offers],
            wanted_mm=wanted.value,
            window_mm=window.value,
            most=MOST_FLOOR_LAYERS,
        )
        if made is not None:
            chosen = tuple(offers[i].thickness for i in made.layers)
            on_hand = tuple(offers[i].on_hand for i in made.layers)
    elif not chosen and wanted is not None:
        findings.append(
            Finding(
                "floor_thickness",
                "fail",
                "The coupler opening reaches as high as the face that the floor bears against, "
                "so there is no room for a floor.",
                wanted,
                mend="Measure lip_depth and end_notch again, both from the bottom of the side sill.",
                source="geometry",
            )
        )
    if not chosen:
        return _Made(wanted, (), (), None, tuple(findings), tuple(needs))
    terms = {f"t{i + 1}": layer for i, layer in enumerate(chosen)}
    formula = " + ".join(terms)
    note = ""
    if car.underframe.glue == "gap-filling" and len(chosen) > 1:
        terms["g"] = practice_value("glue_gap_filling")
        formula += f" + {len(chosen) - 1}*g"
    elif len(chosen) > 1:
        note = "a solvent joint adds nothing"
    thickness = derived("thickness of the floor", formula, terms, note=note)
    if wanted is not None:
        findings.append(
            _thickness_finding(wanted, thickness, window, chosen, offers, units, level=body.ledge == "over")
        )
    if len({layer.key for layer in chosen}) > 1:
        findings.append(
            Finding(
                "floor_layers_unlike",
                "watch",
                "The floor is laminated of unlike layers, which may curl as the solvent leaves them.",
                counted(len(chosen), "layers", note="layers of the floor"),
                unit="count",
                mend="Solvent from the edges only, flat between weights for 24 hours; "
                "then caliper the blank before any hole.",
                source="common practice",
            )
        )
    return _Made(wanted, chosen, on_hand, thickness, tuple(findings), tuple(needs))


def _thickness_finding(
    wanted: Working,
    thickness: Working,
    window: Working,
    layers: Sequence[Working],
    offers: Sequence[SheetOffer],
    units: Literal["in", "mm"],
    *,
    level: bool,
) -> Finding:
    """Return how near the floor comes to the thickness wanted: over it by the window at most, under it by half of that.

    A floor that is thinner than was asked for is told sooner than one that is thicker: filing takes off, and nothing
    puts on. With ``level`` its underside has to meet the top of the coupler opening.
    """
    error = derive("error of the floor's thickness", "t - w", t=thickness, w=wanted)
    thin = error.value < 0
    margin = derive(
        "thickness of the floor to spare", "m - max(e, -2*e)", note="what is missing counts double", m=window, e=error
    )
    inside = margin.value >= -1e-9
    stacked = " + ".join(show_in(layer.value, units) for layer in layers)
    because = (
        f"Layers of {stacked} make {show_in(thickness.value, units)}, {show_in(abs(error.value), units)} "
        f"{'under' if thin else 'over'} the {show_in(wanted.value, units)} wanted."
    )
    mend = ""
    if not inside:
        because += f" No more than {exact_in(window.value / (2 if thin else 1), units)} is let pass."
        better = _nearer(wanted, window.value / 2, offers, units) or f"buy {'thicker' if thin else 'thinner'} sheet"
        mend = f"{better[:1].upper()}{better[1:]}."
        if level:
            other = "pack the coupler" if thin else "file the opening up"
            mend = f"The floor's underside will not be level with the top of the coupler opening: {other}, or {better}."
    return Finding(
        "floor_thickness", "ok" if inside else "watch", because, error, window, margin, "mm", mend, "common practice"
    )


def _nearer(wanted: Working, within_mm: float, offers: Sequence[SheetOffer], units: Literal["in", "mm"]) -> str:
    """Return which layers, of sheet on hand and usual sheet, come within so much of what is wanted; "" for none."""
    held = [offer.thickness.value for offer in offers]
    sizes = list(dict.fromkeys([*held, *(each.value for each in usual_sheets(units))]))
    made = laminate(sizes, wanted_mm=wanted.value, window_mm=within_mm, most=MOST_FLOOR_LAYERS)
    if made is None or not made.within:
        return ""
    layers = " + ".join(show_in(sizes[i], units) for i in made.layers)
    missing = [show_in(sizes[i], units) for i in dict.fromkeys(made.layers) if i >= len(held)]
    bought = f"buy sheet of {listed(missing)}: " if missing else "write into underframe.layers: "
    return f"{bought}{layers} make{'s' if len(made.layers) == 1 else ''} {show_in(made.thickness_mm, units)}"


def _squareness(body: Body, fit: Working, width: Working | None, units: Literal["in", "mm"]) -> list[Finding]:
    """Return findings on taper and on corners that are not square, each against twice the fit."""
    findings = []
    factor = practice_value("taper_fits")
    limit = derive("what the fit can hide", "k*f", k=factor, f=fit)
    for name, readings, words in (
        ("taper_width", body.inside_width, "inside width"),
        ("taper_length", body.inside_length, "inside length"),
    ):
        if len(readings) < 2:
            continue
        low, high = min(readings, key=lambda r: r.value), max(readings, key=lambda r: r.value)
        taper = derive(f"taper of the {words}", "h - l", h=high, l=low)
        findings.append(
            _hidden(
                name,
                taper,
                limit,
                units,
                f"The {words} varies by {show_in(taper.value, units)}",
                "Cut the floor to the smallest size, then fit a filler strip where it gapes, or plane it to the body.",
            )
        )
    skew: Working | None = None
    if body.out_of_square is not None and body.square is not None and width is not None:
        skew = derive("lean of the ends across the width", "g*w/b", g=body.out_of_square, w=width, b=body.square)
    elif len(body.diagonals) == 2 and width is not None and body.inside_length:
        # parallelogram of sides L, W and skew s: d1^2 - d2^2 = 4 L s
        first, second = sorted(body.diagonals, key=lambda each: -each.value)
        skew = derive(
            "lean of the ends across the width", "(d1*d1 - d2*d2)/(4*C)", d1=first, d2=second, C=body.inside_length[0]
        )
    if skew is not None:
        findings.append(
            _hidden(
                "out_of_square",
                skew,
                limit,
                units,
                f"The ends lean {show_in(skew.value, units)} across the width of the floor",
                "Cut the ends of the floor to the body's own angle: scribe them in place.",
            )
        )
    return findings


def _hidden(check: str, value: Working, limit: Working, units: Literal["in", "mm"], words: str, mend: str) -> Finding:
    margin = derive(f"{value.name} to spare", "m - v", m=limit, v=value)
    ok = margin.value >= -1e-9
    because = f"{words}; the fit hides {show_in(limit.value, units)}."
    return Finding(
        check, "ok" if ok else "watch", because, value, limit, margin, "mm", "" if ok else mend, "common practice"
    )


def _outline(length: Working, width: Working, body: Body) -> _Shape:
    """Return the shape of a floor of finished size ``length`` x ``width``, less corner notches and lugs of the body."""
    findings: list[Finding] = []
    notch = body.notch
    n = {"m": notch.along, "n": notch.across} if notch is not None else {}
    lm, wn = ("(L/2 - m)", "(W/2 - n)") if notch is not None else ("L/2", "W/2")
    cuts: dict[str, list[tuple[Working, Working, Working]]] = {"left": [], "right": []}
    for lug in body.lugs:
        if lug.x is None or lug.length is None or lug.depth is None:
            continue
        cuts[lug.side].append((lug.x, lug.length, lug.depth))
    area_terms, area_inputs = ["L*W"], {"L": length, "W": width}
    if notch is not None:
        area_terms.append("- 4*m*n")
        area_inputs |= n
    fit_inputs = {"L": length, "W": width, **n}

    def x(sign: str, formula: str, **extra: Working) -> Working:
        return derived("corner, along", sign + formula, {**_used(formula, fit_inputs), **extra})

    def y(sign: str, formula: str, **extra: Working) -> Working:
        return derived("corner, across", sign + formula, {**_used(formula, fit_inputs), **extra})

    points: list[Point] = []

    def corner(sx: str, sy: str, *, along_first: bool) -> None:
        if notch is None:
            points.append(Point(x(sx, "L/2"), y(sy, "W/2")))
            return
        inner = Point(x(sx, lm), y(sy, wn))
        on_end, on_side = Point(x(sx, "L/2"), y(sy, wn)), Point(x(sx, lm), y(sy, "W/2"))
        points.extend((on_side, inner, on_end) if along_first else (on_end, inner, on_side))

    def side(name: str, sy: str, *, toward_a: bool) -> None:
        for i, (place, span, depth) in enumerate(
            sorted(cuts[name], key=lambda c: c[0].value if toward_a else -c[0].value)
        ):
            first, last = ("-", "+") if toward_a else ("+", "-")
            start = derive("lug notch, along", f"x {first} s/2", x=place, s=span)
            end = derive("lug notch, along", f"x {last} s/2", x=place, s=span)
            edge, deep = y(sy, "W/2"), derive("lug notch, across", f"{sy}(W/2 - d)", W=width, d=depth)
            points.extend((Point(start, edge), Point(start, deep), Point(end, deep), Point(end, edge)))
            symbol = f"{name[0]}{i + 1}"
            area_terms.append(f"- s{symbol}*d{symbol}")
            area_inputs.update({f"s{symbol}": span, f"d{symbol}": depth})
            half = length.value / 2 - (notch.along.value if notch is not None else 0.0)
            if abs(place.value) + span.value / 2 > half:
                findings.append(
                    Finding(
                        "lug_at_corner",
                        "watch",
                        f"A lug on the {name} reaches into the corner of the floor.",
                        place,
                        mend="Give it as part of body.notch instead.",
                        source="geometry",
                    )
                )

    corner("", "-", along_first=True)
    corner("", "", along_first=False)
    side("left", "", toward_a=False)
    corner("-", "", along_first=True)
    corner("-", "-", along_first=False)
    side("right", "-", toward_a=True)
    area = derived("area of the floor", " ".join(area_terms), area_inputs, "mm2")
    corner_notch = (notch.along, notch.across) if notch is not None else None
    return _Shape(tuple(points), area, corner_notch, tuple(findings))


def _used(formula: str, inputs: dict[str, Working]) -> dict[str, Working]:
    return {symbol: working for symbol, working in inputs.items() if symbol in formula}


def design_floor(car: Car, offers: Sequence[SheetOffer]) -> Floor:
    """Return the floor for the body as it was measured, laminated from the sheets offered.

    Args:
        car: the car.
        offers: thicknesses of sheet, those on hand first.

    Returns:
        A floor that is complete as far as the measurements go. Finish size is the smallest inside size less the fit on
        each side; cut size adds an allowance for each snapped edge, two along and two across.
    """
    body, units = car.body, car.info.units
    stays = body.floor in ("kept", "deck")
    along, across, needs = _deck(car) if body.floor == "deck" else opening_of(car)
    fit = fit_of(car)
    findings: list[Finding] = []
    if stays:
        made = _Made(None, (), (), body.floor_thickness)
        if body.floor_thickness is None:
            needs.append("body.floor_thickness")
        length, width = along, across
        cut_length = cut_width = None
    else:
        made = _thickness(car, offers)
        findings += made.findings
        needs += made.needs
        snap = practice_value("snap_edge")

        def finished(name: str, inside: Working | None) -> Working | None:
            return None if inside is None else derive(f"finished {name} of the floor", "i - 2*f", i=inside, f=fit)

        def to_cut(name: str, size: Working | None) -> Working | None:
            if size is None:
                return None
            return derive(f"cut {name} of the floor", "s + 2*e", s=size, e=snap, note="two snapped edges")

        length, width = finished("length", along), finished("width", across)
        cut_length, cut_width = to_cut("length", length), to_cut("width", width)
        findings += _squareness(body, fit, across, units)
    shape = _Shape()
    if length is not None and width is not None:
        shape = _outline(length, width, replace(body, notch=None, lugs=()) if stays else body)
        findings += shape.findings
    sill_rise: Working | None = None
    if body.lip_depth is not None:
        if body.ledge == "under":
            sill_rise = derive("bottom of the sill above the floor's underside", "-E", E=body.lip_depth)
        elif made.thickness is not None:
            sill_rise = derive(
                "bottom of the sill above the floor's underside", "t - E", t=made.thickness, E=body.lip_depth
            )
    error: Working | None = None
    if made.thickness is not None and made.wanted is not None:
        error = derive("error of the floor's thickness", "t - w", t=made.thickness, w=made.wanted)
    return Floor(
        stays=stays,
        material="as found" if stays else "styrene",
        made_of=body.floor_material if stays else "plastic",
        wanted_thickness=made.wanted,
        layers=made.layers,
        layers_on_hand=made.on_hand,
        thickness=made.thickness,
        error=error,
        length=length,
        width=width,
        cut_length=cut_length,
        cut_width=cut_width,
        area=shape.area,
        outline=shape.outline,
        corner=shape.corner,
        sill_rise=sill_rise,
        findings=tuple(findings),
        needs=tuple(needs),
    )
