"""Install what tests run against and Python's installers do not have: a PostgreSQL server and the Chromium browser.

Both are Debian packages. They are installed where that is allowed without asking: as root, or where sudo asks for no
password. Where it is not, this says which tests will be left out; those tests then say so themselves, and the run fails
unless ALLOW_SKIPS=1 accepts it. The tests start a server of their own, in a temporary folder, on a free port.

    python3 tools/install_services.py
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from setup_environment import as_root


@dataclass(frozen=True)
class Service:
    """Something that tests need: its Debian package, how to see that it is there, and which tests go without it."""

    package: str
    there: Callable[[], bool]
    tests: str


def server_there() -> bool:
    """Return whether a PostgreSQL server's programs are installed."""
    return any(Path("/usr/lib/postgresql").glob("*/bin/initdb")) or shutil.which("initdb") is not None


def browser_there() -> bool:
    """Return whether Chromium is on the path."""
    return shutil.which("chromium") is not None or shutil.which("chromium-browser") is not None


SERVICES = (
    Service("postgresql", server_there, "the tests of a shop on a server (tests/shop)"),
    Service("chromium", browser_there, "the tests of the pages in a browser (tests/web)"),
)


def main() -> None:
    """Install what is missing, then say what still is."""
    missing = [each for each in SERVICES if not each.there()]
    if missing and shutil.which("apt-get") and (rights := as_root()) is not None:
        names = [each.package for each in missing]
        print(f"installing Debian's {' and '.join(names)} for the tests", flush=True)
        quiet = [*rights, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-qq"]
        for step in (["update"], ["install", "-y", "--no-install-recommends", *names]):
            subprocess.run([*quiet, *step], stdout=subprocess.DEVNULL, check=False)
    for each in missing:
        if not each.there():
            print(
                f"{each.package} is missing and may not be installed here: {each.tests} are left out, and the run "
                f"fails unless ALLOW_SKIPS=1 accepts it. To install it: sudo apt-get install {each.package}",
                flush=True,
            )


if __name__ == "__main__":
    main()
