"""A plate glued along a sloping edge: how long, how steep, and where its lower face comes to lie."""

from __future__ import annotations

from dataclasses import dataclass

from carwright.working import Working, derive

__all__ = ["Sloped", "sloped"]


@dataclass(frozen=True, slots=True)
class Sloped:
    """A plate under an edge that rises outward.

    Args:
        length: along the slope, mm.
        turn: of the slope, degrees, positive.
        middle: of its lower face, outward from where distances are counted, mm.
        drop: of the same below the floor, mm.
    """

    length: Working
    turn: Working
    middle: Working
    drop: Working


def sloped(name: str, *, near: Working, far: Working, deep: Working, rise: Working, plate: Working) -> Sloped:
    """Return the plate under an edge that runs straight from (near, deep) up by h to ``far``.

    With l = far - near and c = hypot(l, h), the slope has sin = h/c and cos = l/c. The plate's
    upper face lies on the edge, beginning at ``near``. Its lower face is plate x sin further out, so that it is cut
    short by that to end at ``far``:

        length = (l - t h/c) c/l,  middle of the lower face = (near + far + t h/c)/2,
        drop of it = deep - (l - t h/c)/2 h/l + t l/c

    Args:
        name: of what slopes.
        near: inner end of the edge, mm outward.
        far: outer end, mm outward, beyond ``near``.
        deep: drop of the edge at ``near``, mm.
        rise: h, mm, positive.
        plate: thickness t, mm.
    """
    run = derive(f"run of {name}", "b - a", b=far, a=near)
    return Sloped(
        derive(f"length along {name}", "hypot(l, h) - t*h/l", l=run, h=rise, t=plate),
        derive(f"slope of {name}", "degrees(atan(h/l))", "deg", l=run, h=rise),
        derive(f"middle along {name}", "(a + b + t*h/hypot(l, h))/2", a=near, b=far, t=plate, h=rise, l=run),
        derive(
            f"lower face of {name} at its middle",
            "d - (l - t*h/hypot(l, h))/2*h/l + t*l/hypot(l, h)",
            d=deep,
            l=run,
            h=rise,
            t=plate,
        ),
    )
