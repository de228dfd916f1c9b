"""Throws and angles of one car, coupled to its like, standing on one steady radius.

A truck's axles sit on the path and its pivot midway between them; the body rides two pivots a distance 2a apart. With b
the wheelbase, x_p mid-car to coupler pivot and l one coupler's length:

    rho_p^2 = R^2 - b^2/4      circle of the truck pivots
    y0^2    = rho_p^2 - a^2    body's axis from the centre of the curve
    rho^2   = x_p^2 + y0^2     circle of the coupler pivots
"""

from __future__ import annotations

from dataclasses import dataclass

from carwright.working import Working, derive

__all__ = ["Steady", "steady"]


@dataclass(frozen=True, slots=True)
class Steady:
    """Steady figures on one radius; mm and degrees, angles as magnitudes; None where a measurement is missing."""

    radius: Working
    throw_in: Working | None
    throw_out: Working | None
    throw_in_bare: Working | None
    throw_out_bare: Working | None
    truck_angle: Working | None
    coupler_angle: Working | None
    body_gap: Working | None
    needs: tuple[str, ...]


def steady(
    *,
    radius: Working,
    half_centers: Working | None,
    wheelbase: Working | None,
    length: Working | None,
    width: Working | None,
    pivot: Working | None,
    link: Working | None,
) -> Steady | None:
    """Return the steady figures of a car, or None where it cannot stand on the radius at all.

    Args:
        radius: of the track's centre line, mm.
        half_centers: half the truck centres, mm.
        wheelbase: of one truck, mm.
        length: of the body over its ends, mm; of a car whose trucks are not alike far from its ends, twice the middle
            between them to the farther end.
        width: of the body over its sides, mm.
        pivot: mid-car (or the middle between the trucks) to the coupler's pivot, mm.
        link: pivot to pulling face of one coupler, mm.

    Notes:
        Throw in is at the middle between the trucks, throw out at the outer corner, half the width included; ``bare``
        without it. The gap is between the nearest corners of two like bodies, coupled straight pivot to pivot under
        pull.

    Source:
        Plane geometry of a chord in a circle, derived here.
    """
    given = {
        "trucks.centers": half_centers,
        "trucks.wheelbase": wheelbase,
        "body.length": length,
        "body.width": width,
        "coupler.pivot_inset": pivot,
        "coupler.length": link,
    }
    needs = tuple(key for key, value in given.items() if value is None)
    if half_centers is None or wheelbase is None:
        return Steady(radius, None, None, None, None, None, None, None, needs)
    if radius.value**2 - wheelbase.value**2 / 4 <= half_centers.value**2:
        return None
    on_pivots = derive("circle of the truck pivots", "sqrt(R*R - b*b/4)", R=radius, b=wheelbase)
    axis = derive("body's axis from the centre of the curve", "sqrt(r*r - a*a)", r=on_pivots, a=half_centers)
    angle = derive("truck angle", "degrees(asin(a/r))", "deg", a=half_centers, r=on_pivots)
    in_bare = derive("throw in, without the width", "R - y", R=radius, y=axis)
    throw_in = out = out_bare = coupler = gap = None
    if length is not None:
        out_bare = derive("throw out, without the width", "hypot(A/2, y) - R", A=length, y=axis, R=radius)
    if width is not None:
        throw_in = derive("throw in", "R - y + W/2", R=radius, y=axis, W=width)
        if length is not None:
            out = derive("throw out", "hypot(A/2, y + W/2) - R", A=length, y=axis, W=width, R=radius)
    if pivot is not None and link is not None:
        reach = derive("circle of the coupler pivots", "hypot(x, y)", x=pivot, y=axis)
        if link.value < reach.value:
            coupler = derive("coupler angle", "degrees(atan(x/y) + asin(l/r))", "deg", x=pivot, y=axis, l=link, r=reach)
            if length is not None and width is not None:
                gap = _gap(length, width, axis, pivot, link, reach)
    return Steady(radius, throw_in, out, in_bare, out_bare, angle, coupler, gap, needs)


def _gap(length: Working, width: Working, axis: Working, pivot: Working, link: Working, reach: Working) -> Working:
    """Return the least distance between two like bodies: their inner corners, mirrored in the radius between them.

    The radius to the joint makes an angle p + q with the body's normal, p = atan(x/y) to the coupler pivot and
    q = asin(l/rho) on to the joint. The distance of the inner corner (A/2, y - W/2) from that radius is
    (y - W/2) sin(p + q) - (A/2) cos(p + q), and the gap is twice that.
    """
    return derive(
        "gap between the bodies",
        "2*((y - W/2)*sin(atan(x/y) + asin(l/r)) - A/2*cos(atan(x/y) + asin(l/r)))",
        note="inner corners of two like cars; negative: they overlap",
        y=axis,
        W=width,
        x=pivot,
        l=link,
        r=reach,
        A=length,
    )
