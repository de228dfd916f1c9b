"""The shop's pages: the first answer after the command, what the first page weighs, the line under twenty clients.

The load comes from this module: twenty threads, each with one kept-alive connection of ``http.client``, ask for the
line one after the other at a fixed rate together, over this machine's own loopback and no further; how many requests is
fixed beforehand. A request that comes late because the one before it was slow counts from when it was due.
A page is kept until something in the shop changes, so the line right after a change is measured by itself.
"""

from __future__ import annotations

import gzip
import http.client
import re
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import carwright
from benchmarks.harness import Measured, Promise, measure, taken
from carwright.shop import STAGES, Digest, open_shop

__all__ = ["benches"]

PACKAGE = Path(carwright.__file__).parent
CARS = 1000
CLIENTS = 20
RATE = 100
REQUESTS = 1000


def _filled(where: Path) -> None:
    """Fill a shop with a thousand cars along the line, each with a file of its own and a finding."""
    document = (PACKAGE / "demo" / "boxcar.toml").read_text(encoding="utf-8")
    with open_shop(where) as shop:
        for number in range(CARS):
            name = f"KLW {10000 + number}"
            data = re.sub(r'(?m)^name = ".*"$', f'name = "{name}"', document, count=1).encode()
            saved = shop.add_car(data, name=name)
            shop.set_stage(saved.slug, STAGES[number % len(STAGES)])
            shop.put_digest(
                saved.sha256, Digest("watch", "The coupler stands 0.008 in high; accepted ± 0.010 in.", b"<svg/>")
            )


@contextmanager
def _served(where: Path) -> Iterator[int]:
    """Serve a shop from a process of its own and yield its port."""
    words = [sys.executable, "-m", "carwright", "serve", "--port", "0", "--shop", str(where)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as process:
        assert process.stdout is not None
        try:
            yield int(re.findall(r":(\d+)$", process.stdout.readline().strip())[0])
        finally:
            process.terminate()


def _asked(connection: http.client.HTTPConnection, path: str = "/") -> bytes:
    connection.request("GET", path, headers={"Accept-Encoding": "gzip"})
    answer = connection.getresponse()
    body = answer.read()
    if answer.status != 200:
        raise RuntimeError(f"{path}: {answer.status}")
    return body


def _first_answer(where: Path) -> None:
    """Start the program and wait for the line."""
    with _served(where) as port:
        _asked(http.client.HTTPConnection("127.0.0.1", port, timeout=30))


def _weight(port: int) -> int:
    """Return how many bytes the first page takes over the wire: the line, and everything that it loads at once."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    page = _asked(connection)
    text = gzip.decompress(page).decode()
    total = len(page)
    sheet = ""
    for path in re.findall(r'(?:href|src)="(/static/[^"]+)"', text):
        body = _asked(connection, path)
        total += len(body)
        if "page.css" in path:
            sheet = gzip.decompress(body).decode()
    for name in re.findall(r'url\("([^"]+\.woff2)"\)', sheet):
        total += len(_asked(connection, f"/static/{name}"))
    return total


def _load(port: int) -> tuple[list[float], float]:
    """Ask for the line at a fixed rate from all clients; return each wait in ms, and the pages a second."""
    waits: list[float] = []
    lock = threading.Lock()
    begin = time.perf_counter() + 0.2

    def client(number: int) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        own: list[float] = []
        for turn in range(REQUESTS // CLIENTS):
            due = begin + (turn * CLIENTS + number) / RATE
            time.sleep(max(0.0, due - time.perf_counter()))
            _asked(connection)
            own.append((time.perf_counter() - due) * 1000)
        with lock:
            waits.extend(own)

    threads = [threading.Thread(target=client, args=(number,)) for number in range(CLIENTS)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    return waits, REQUESTS / (time.perf_counter() - begin)


def benches() -> Iterator[Measured]:
    """Yield the first answer, the first page after a restart, and the line under load, each against its promise."""
    with tempfile.TemporaryDirectory() as folder:
        where = Path(folder) / "shop.db"
        _filled(where)
        yield measure(
            "first answer of carwright serve",
            lambda: _first_answer(where),
            promises=[Promise("median_ms", 2500)],
        )
        with _served(where) as port:
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
            start = time.perf_counter()
            _asked(connection)
            first_ms = (time.perf_counter() - start) * 1000
            kilobytes = _weight(port) / 1000
            if kilobytes >= 150:
                raise RuntimeError(f"the first page takes {kilobytes:.0f} kB")
            waits, rate = _load(port)
            if rate < 0.97 * RATE:
                raise RuntimeError(f"{rate:.0f} pages a second, {RATE} wanted")
            name = f"the line, {CARS} cars, {CLIENTS} clients, {rate:.0f} pages/s, {kilobytes:.0f} kB at first"
            yield taken(name, waits, cold_ms=first_ms, promises=[Promise("p95_ms", 250)])
            with open_shop(where) as shop:
                slug = shop.cars(limit=1)[0].slug
                connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)

                def changed() -> None:
                    shop.set_waits_for(slug, f"paint, {time.perf_counter():.6f}")
                    _asked(connection)

                yield measure("the line right after a change", changed, runs=21, promises=[Promise("p95_ms", 250)])
