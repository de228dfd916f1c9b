"""A shop with the demonstration's cars, and a client that speaks to its pages without a network."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from carwright.shop import Shop, open_shop
from carwright.web.app import create_app
from carwright.web.settings import Settings

DEMO = Path(__file__).resolve().parents[2] / "src" / "carwright" / "demo"


PLANK = b"""
[car]
name = "Plank"
scale = "HO"
[body]
inside_length = "5"
inside_width = "1"
mount = "drop-in"
lip_depth = "0.188"
end_notch = "0.158"
[underframe]
crossbearers = 0
crossties = 0
center_sill = "none"
brake = "none"
retention = "none"
"""
"""A car that is nothing but a floor, 0.030 in thick (invented)."""


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """Return a shop with three cars, one of them at the stage of cutting."""
    with open_shop(tmp_path / "shop.db") as made:
        for name in ("boxcar", "flat_car", "h0_car"):
            made.add_car((DEMO / f"{name}.toml").read_bytes())
        made.set_stage("flat-car", "cut")
        yield made


@pytest.fixture
def client(shop: Shop) -> Iterator[TestClient]:
    """Return a client at the shop's own address; it follows no redirect, and its pages wait for a plan."""
    with TestClient(
        create_app(shop, Settings(patience_s=60.0)), base_url="http://127.0.0.1:8765", follow_redirects=False
    ) as made:
        yield made
