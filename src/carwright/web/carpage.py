"""The page of one car."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from carwright.web.pages import render, shop_of

__all__ = ["car_router"]

car_router = APIRouter(include_in_schema=False)


@car_router.get("/car/{slug}")
def car(request: Request, slug: str) -> Response:
    """Show what is known of one car."""
    return render(request, "car.html", here="line", car=shop_of(request).car(slug))
