"""The shop: every car's file in revisions that are never lost, photographs, the shelf, and what was done when.

Begin with ``open_shop``; ``store.Shop`` has the operations, ``records`` what they hand out. Neither this page nor
``records`` loads the database library: that comes with the first shop that is opened.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from carwright.shop.opening import open_shop
from carwright.shop.places import ShopFault
from carwright.shop.records import (
    CHECKLISTS,
    STAGES,
    CarCard,
    CarState,
    Change,
    ChangeKind,
    Digest,
    Lot,
    Measured,
    Photo,
    PhotoKind,
    PhotoSize,
    PlanMade,
    Revision,
    RevisionHead,
    RevisionKind,
    Saved,
    Stage,
    Stale,
    Taken,
    Tick,
)

if TYPE_CHECKING:
    from carwright.shop.store import Shop

__all__ = [
    "CHECKLISTS",
    "STAGES",
    "CarCard",
    "CarState",
    "Change",
    "ChangeKind",
    "Digest",
    "Lot",
    "Measured",
    "Photo",
    "PhotoKind",
    "PhotoSize",
    "PlanMade",
    "Revision",
    "RevisionHead",
    "RevisionKind",
    "Saved",
    "Shop",
    "ShopFault",
    "Stage",
    "Stale",
    "Taken",
    "Tick",
    "open_shop",
]


def __getattr__(name: str) -> object:
    """Load the class of shops, and with it the database library, when it is first asked for."""
    if name == "Shop":
        from carwright.shop.store import Shop

        return Shop
    raise AttributeError(name)
