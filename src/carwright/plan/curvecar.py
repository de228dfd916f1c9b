"""What a curve needs to know of a car: its readings as numbers with workings, and the car made of their values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from carwright.car.model import ENDS, Car, End, Ends
from carwright.track.placing import CarEnd, Vehicle
from carwright.working import Working, derive

__all__ = ["CurveCar", "curve_car", "extreme_car", "under_another_name", "vehicle_of"]


@dataclass(frozen=True, slots=True)
class CurveCar:
    """A car for a curve: its sizes by name, each a working, and what is missing.

    Args:
        name: in words.
        sizes: "truck_a" (mid-car to the pivot), "wheelbase_a", "coupler_a" (mid-car to the pivot), "link_a", "swing_a"
            (degrees), "travel_a", likewise for b; "length", "width". What is not known is not there.
        on_truck: whether each coupler turns with its truck.
        needs: size to the keys of the measurements that it waits for.
        guest: whether it is another car than the one that the study is about.
    """

    name: str
    sizes: Mapping[str, Working]
    on_truck: Ends[bool]
    needs: Mapping[str, tuple[str, ...]]
    guest: bool = False

    @property
    def stands(self) -> bool:
        """Return whether enough is known to place the car by itself."""
        return all(f"{what}_{end}" in self.sizes for what in ("truck", "wheelbase") for end in ENDS)

    @property
    def couples(self) -> bool:
        """Return whether enough is known to couple it."""
        return self.stands and all(f"{what}_{end}" in self.sizes for what in ("coupler", "link") for end in ENDS)

    def wanting(self, *names: str) -> tuple[str, ...]:
        """Return the keys that some sizes wait for, each once; both ends of a size where it has ends."""
        found: dict[str, None] = {}
        for name in names:
            for size in (name, f"{name}_a", f"{name}_b"):
                for key in self.needs.get(size, ()):
                    found[key] = None
        return tuple(found)


def vehicle_of(car: CurveCar, values: Mapping[str, float] | None = None, *, lead: str = "") -> Vehicle:
    """Return the car that stands on a path.

    Args:
        car: with all that ``stands`` asks for.
        values: other values for some sizes, by ``lead`` and name.
        lead: what their names begin with.
    """
    moved = values or {}

    def of(name: str) -> float | None:
        size = car.sizes.get(name)
        return None if size is None else moved.get(lead + name, size.value)

    def must(name: str) -> float:
        found = of(name)
        assert found is not None
        return found

    def end(letter: End) -> CarEnd:
        return CarEnd(
            truck_mm=must(f"truck_{letter}"),
            wheelbase_mm=must(f"wheelbase_{letter}"),
            coupler_mm=of(f"coupler_{letter}"),
            link_mm=of(f"link_{letter}"),
            swing_deg=of(f"swing_{letter}"),
            on_truck=car.on_truck.at(letter),
            travel_mm=of(f"travel_{letter}") or 0.0,
        )

    return Vehicle(end("a"), end("b"), of("length"), of("width"))


def curve_car(car: Car) -> CurveCar:
    """Return what a curve needs to know of a car."""
    sizes: dict[str, Working] = {}
    needs: dict[str, tuple[str, ...]] = {}

    def put(name: str, size: Working | None, *keys: str) -> None:
        if size is not None:
            sizes[name] = size
        else:
            needs[name] = keys

    body = car.body
    put("length", body.length, "body.length")
    put("width", _width(car), "body.width")
    for end in ENDS:
        letter, truck, coupler = end.upper(), car.trucks.at(end), car.coupler.at(end)
        pivot = None
        if truck.centers is not None:
            pivot = derive("half the truck centres", "H/2", H=truck.centers)
        elif truck.inset is not None and body.length is not None:
            pivot = derive(f"mid-car to truck pivot {letter}", "A/2 - i", A=body.length, i=truck.inset)
        put(f"truck_{end}", pivot, "trucks.centers")
        put(f"wheelbase_{end}", truck.wheelbase, "trucks.wheelbase")
        hook = None
        if body.length is not None and coupler.pivot_inset is not None:
            hook = derive("mid-car to coupler pivot", "A/2 - M", A=body.length, M=coupler.pivot_inset)
        missing = tuple(
            key
            for key, value in (("body.length", body.length), ("coupler.pivot_inset", coupler.pivot_inset))
            if value is None
        )
        put(f"coupler_{end}", hook, *missing)
        put(f"link_{end}", coupler.length, "coupler.length")
        put(f"swing_{end}", _swing(car, end), "coupler.side_play")
        if coupler.travel is not None:
            sizes[f"travel_{end}"] = coupler.travel
    on_truck = Ends(car.coupler.a.mount == "truck", car.coupler.b.mount == "truck")
    return CurveCar(car.info.name or "this car", sizes, on_truck, needs)


def _width(car: Car) -> Working | None:
    body = car.body
    if body.width is not None or not body.inside_width or body.wall is None:
        return body.width
    least = min(body.inside_width, key=lambda each: each.value)
    return derive(
        "width over the sides, from inside",
        "D + 2*w",
        D=least,
        w=body.wall,
        note="not measured: inside width and two walls",
    )


def _swing(car: Car, end: End) -> Working | None:
    coupler = car.coupler.at(end)
    if coupler.swing is not None:
        return coupler.swing
    play, length = coupler.side_play, coupler.length
    if play is None or length is None or play.value >= length.value:
        return None
    return derive("swing that the pocket allows", "degrees(asin(s/l))", "deg", s=play, l=length)


def extreme_car(own: CurveCar, *, name: str, length: Working, centers: Working) -> CurveCar:
    """Return a neighbour of another length that has this car's trucks, width and couplers as far from its ends.

    Args:
        own: the car whose sizes it borrows; it must couple.
        name: of the neighbour.
        length: over its ends, mm.
        centers: its truck centres, mm.
    """
    half = derive("half the neighbour's truck centres", "H/2", H=centers)
    sizes = dict(own.sizes)
    sizes["length"] = length
    for end in ENDS:
        sizes[f"truck_{end}"] = half
        sizes[f"coupler_{end}"] = derive(
            "neighbour's mid-car to its coupler pivot",
            "B/2 - (A/2 - x)",
            note="taken: its couplers are as far from its ends as this car's",
            B=length,
            A=own.sizes["length"],
            x=own.sizes[f"coupler_{end}"],
        )
    return CurveCar(name, sizes, own.on_truck, {}, guest=True)


def under_another_name(car: CurveCar, lead: str) -> CurveCar:
    """Return the car with ``lead`` before the key of every typed leaf, so that two cars' readings stay apart."""
    known: dict[int, Working] = {}

    def renamed(node: Working) -> Working:
        found = known.get(id(node))
        if found is None:
            if node.is_leaf:
                tolerance = None if node.tolerance is None else renamed(node.tolerance)
                key = f"{lead}{node.key}" if node.kind != "reference" else node.key
                found = replace(node, key=key, tolerance=tolerance)
            else:
                found = replace(node, inputs={symbol: renamed(each) for symbol, each in node.inputs.items()})
            known[id(node)] = found
        return found

    return replace(car, sizes={name: renamed(size) for name, size in car.sizes.items()}, guest=True)
