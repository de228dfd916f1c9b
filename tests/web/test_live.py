"""What is saved in one place is told to every other page that is open."""

from __future__ import annotations

import asyncio
import json
import re
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

from tests.web.conftest import DEMO

from carwright.shop import Shop
from carwright.web.live import Watcher


class Listener:
    """A page that listens until it goes."""

    gone = False

    async def is_disconnected(self) -> bool:
        return self.gone


async def heard(events: AsyncIterator[str], kind: str) -> dict[str, Any]:
    """Return the next event of a kind."""
    async for event in events:
        lines = dict(line.partition(": ")[::2] for line in event.strip().splitlines())
        if lines.get("event") == kind:
            told: dict[str, Any] = json.loads(lines["data"])
            return told
    raise AssertionError(f"no {kind} came")


def test_a_save_in_one_place_is_told_in_the_other(shop: Shop) -> None:
    """Two listeners hear of a save, with the car, its revision and who saved it."""

    async def scene() -> None:
        watcher = Watcher(shop)
        listeners = Listener(), Listener()
        since = shop.last_change()
        pages = [watcher.changes(each, since) for each in listeners]  # type: ignore[arg-type] -- only asked whether it left
        waiting = [asyncio.create_task(heard(each, "change")) for each in pages]
        await asyncio.sleep(0.1)
        head = shop.car("flat-car").head
        shop.save("flat-car", head.data + b"# more\n", based_on=head.number, by="ruth")
        for told in await asyncio.wait_for(asyncio.gather(*waiting), 20):
            assert (told["slug"], told["kind"], told["revision"], told["by"]) == ("flat-car", "revision", 2, "ruth")
            assert re.fullmatch(r"Flat car was saved as revision 2 by ruth, \d+ \w{3} \d{4}, \d\d:\d\d\.", told["said"])
            assert told["number"] == since + 1
        for each in pages:
            await each.aclose()  # type: ignore[attr-defined] -- a generator
        assert watcher.listeners == set()

    asyncio.run(scene())


def test_what_came_while_the_line_was_down_is_told_on_coming_back(shop: Shop) -> None:
    """A page that reconnects with the number of the last change it heard is told every later one, in order."""

    async def scene() -> None:
        watcher = Watcher(shop)
        since = shop.last_change()
        shop.set_waits_for("flat-car", "glue")
        shop.add_car((DEMO / "n_car.toml").read_bytes())
        page = watcher.changes(Listener(), since)  # type: ignore[arg-type] -- only asked whether it left
        first = await asyncio.wait_for(heard(page, "change"), 20)
        second = await asyncio.wait_for(heard(page, "change"), 20)
        assert (first["slug"], second["kind"]) == ("flat-car", "car")
        assert second["number"] == first["number"] + 1 == since + 2

    asyncio.run(scene())


def test_another_process_is_heard(shop: Shop, tmp_path: Path) -> None:
    """A save by another program on the same shop is told as well."""
    from carwright.shop import open_shop

    async def scene() -> None:
        watcher = Watcher(shop)
        page = watcher.changes(Listener(), shop.last_change())  # type: ignore[arg-type] -- only asked whether it left
        waiting = asyncio.create_task(heard(page, "change"))
        await asyncio.sleep(0.1)
        with open_shop(tmp_path / "shop.db") as other:
            other.set_stage("flat-car", "build")
        told = await asyncio.wait_for(waiting, 20)
        assert (told["slug"], told["kind"]) == ("flat-car", "stage")

    asyncio.run(scene())
