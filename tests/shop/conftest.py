"""A real PostgreSQL server for the tests of the shop: of its own, in a temporary folder, on a free port."""

from __future__ import annotations

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

import pytest

from carwright.shop import Shop, open_shop

NO_SERVER = "no PostgreSQL server is installed (Debian: apt-get install postgresql)"


def _binaries() -> Path | None:
    """Return the folder with the newest server's programs, or None."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda each: int(each.parts[-3]))
    on_path = shutil.which("initdb")
    return found[-1].parent if found else Path(on_path).parent if on_path else None


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _other_user() -> str | None:
    """Return whom the server runs as: it refuses to run as root."""
    if os.geteuid() != 0:
        return None
    names = {each.pw_name for each in pwd.getpwall()}
    return "postgres" if "postgres" in names else "nobody"


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """Give the address of a running server, without a database's name; the server ends with the tests."""
    binaries = _binaries()
    if binaries is None:
        pytest.skip(NO_SERVER)
    user = _other_user()
    folder = Path(tempfile.mkdtemp(prefix="carwright-postgresql-"))
    if user is not None:
        shutil.chown(folder, user)
    data, port = folder / "data", _free_port()
    make = [binaries / "initdb", "-D", data, "-U", "shop", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"]
    subprocess.run(make, check=True, stdout=subprocess.DEVNULL, user=user, cwd=folder, timeout=120)
    log = (folder / "log").open("wb")
    words = [binaries / "postgres", "-D", data, "-p", str(port), "-h", "127.0.0.1", "-k", folder, "-F"]
    running = subprocess.Popen(words, stdout=log, stderr=log, user=user, cwd=folder)
    try:
        ready = [binaries / "pg_isready", "-h", "127.0.0.1", "-p", str(port), "-q"]
        for _ in range(300):
            if subprocess.run(ready, check=False, timeout=10).returncode == 0:
                break
            assert running.poll() is None, (folder / "log").read_text(encoding="utf-8", errors="replace")
            time.sleep(0.1)
        yield f"postgresql://shop@127.0.0.1:{port}"
    finally:
        running.terminate()
        try:
            running.wait(20)
        except subprocess.TimeoutExpired:
            running.kill()
            running.wait()
        log.close()
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def database(server: str) -> Iterator[str]:
    """Give the address of an empty database of the test's own."""
    import psycopg

    name = f"test_{os.getpid()}_{next(_numbers)}"
    with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    yield f"{server}/{name}"
    with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
        connection.execute(f"DROP DATABASE {name} WITH (FORCE)")


_numbers = count()


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Give a place for a shop of each kind: a file's name, or the address of an empty database."""
    if request.param == "postgresql":
        return str(request.getfixturevalue("database"))
    return str(tmp_path / "shop.carwright")


@pytest.fixture
def clock() -> Callable[[], datetime]:
    """Give a clock that begins on 1 March 2026 and goes on by an hour at each look."""
    moments = (datetime(2026, 3, 1, 9, tzinfo=UTC) + timedelta(hours=n) for n in count())
    return lambda: next(moments)


@pytest.fixture
def shop(where: str, clock: Callable[[], datetime]) -> Iterator[Shop]:
    """Give an empty shop of each kind."""
    with open_shop(where, clock=clock) as opened:
        yield opened
