"""``carwright serve``: the shop's pages, to this machine alone unless told otherwise."""

from __future__ import annotations

import contextlib
import gc
import ipaddress
import socket
from types import FrameType
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from carwright.cli.page import wrapped
from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.shop import Shop
    from carwright.web.settings import Settings
    from carwright.web.tablet import Pairing

__all__ = ["command"]

_FOR_OTHERS = (
    "The link is not encrypted: names and pass phrases can be read on the way. Put it behind a server that encrypts "
    "before you open it to more than your own network."
)


def command(
    *,
    port: int = 8765,
    shop: str | None = None,
    open_page: Annotated[bool, Parameter(name="--open", negative="")] = False,
    tablet: bool = False,
    club: bool = False,
    listen: str | None = None,
    called: Annotated[list[str] | None, Parameter(name="--called", negative="")] = None,
) -> int:
    """Open the shop's pages in a browser: the line of cars, each car, shelf, cutting, print.

    It listens to this machine alone and ends with Ctrl+C. Everything is kept in
    one file as it is typed; nothing is ever written over. With --tablet a device
    on your own network is let in by a code; with --club each member has a name.

    Args:
        port: Where it listens: http://127.0.0.1:8765; 0 for any port that is free.
        shop: The shop: a file, or postgresql://... Without it, the one in your data folder.
        open_page: Open the page in the browser, too.
        tablet: Listen on the local network and let devices in by a pairing code, until the program ends.
        club: Ask for name and pass phrase; a shop on a server always does. Make them with carwright shop account add.
        listen: The address to listen on instead of this machine's own; only with --club.
        called: A name under which others reach this machine, for --club; may be given several times.
    """
    if not 0 <= port <= 65535:
        raise InputError(Problem("there is no such port", str(port), "1 to 65535, or 0 for a free one", key="--port"))
    club = club or (shop or "").casefold().startswith(("postgresql:", "postgres:", "postgresql+psycopg:"))
    host = _host(listen, tablet=tablet, club=club)
    from carwright.shop import open_shop

    listening = _listen(host, port)
    with open_shop(shop) as opened:
        settings, lines = _settings(opened, host, listening.getsockname()[1], called or [], tablet=tablet, club=club)
        print("\n".join([*lines, *opened.place.cautions]), flush=True)
        if open_page:
            import webbrowser

            webbrowser.open(f"http://127.0.0.1:{listening.getsockname()[1]}")
        _serve(opened, settings, listening)
    return 0


def _host(listen: str | None, *, tablet: bool, club: bool) -> str:
    """Return the address to listen on.

    Raises:
        InputError: it is none, or others would be let in without being asked who they are.
    """
    if listen is None:
        return "0.0.0.0" if tablet else "127.0.0.1"  # noqa: S104 -- a tablet is on another machine, and is asked for its code
    try:
        address = ipaddress.ip_address(listen)
    except ValueError:
        accepted = "an address of this machine, such as 192.168.1.5, or 0.0.0.0 for all of them"
        raise InputError(Problem("this is no address to listen on", listen, accepted, key="--listen")) from None
    if not address.is_loopback and not club and not tablet:
        mend = "Give --club, so that each member gives a name and a pass phrase, or --tablet for your own devices."
        raise InputError(Problem("others would come in without being asked", listen, mend=mend, key="--listen"))
    return listen


def _settings(
    shop: Shop, host: str, port: int, called: list[str], *, tablet: bool, club: bool
) -> tuple[Settings, list[str]]:
    """Return how the pages are served, and what is said of it."""
    from carwright.web.settings import LOOPBACK, Settings

    own = f"http://127.0.0.1:{port}"
    lines = [f"The shop is open at {own}", "It ends with Ctrl+C."]
    names = [*LOOPBACK, *called]
    if not ipaddress.ip_address(host).is_unspecified:
        names.append(f"[{host}]" if ":" in host else host)
    accounts = pairing = None
    if club:
        from carwright.web.accounts import Accounts

        accounts = Accounts(shop)
        if not accounts.any():
            lines += ["", "Nobody has a name here yet. Make the first with: carwright shop account add NAME"]
    from carwright.web.tablet import Pairing, local_addresses

    if tablet or not ipaddress.ip_address(host).is_loopback:
        found = local_addresses()
        names += found
        if tablet and not club:
            pairing = Pairing(tuple(f"http://{each}:{port}" for each in found))
            lines += _tablet_lines(pairing)
        elif club:
            lines += ["", *(f"For others: http://{each}:{port}" for each in (*called, *found)), *wrapped(_FOR_OTHERS)]
    return Settings(hosts=tuple(names), pairing=pairing, accounts=accounts), lines


def _tablet_lines(pairing: Pairing) -> list[str]:
    """Return what is said of pairing: address, code, QR code, and who can see the link."""
    from carwright.web.tablet import WARNING, qr_text

    if not pairing.addresses:
        return ["", "This machine is on no network: no tablet can reach it."]
    first = pairing.addresses[0]
    return [
        "",
        "For the tablet:",
        *(f"  {each}" for each in pairing.addresses),
        f"  Pairing code: {pairing.said}",
        "",
        qr_text(f"{first}/pair?code={pairing.code}"),
        *wrapped(WARNING),
    ]


def _listen(host: str, port: int) -> socket.socket:
    """Return the socket, listening already, so that a browser opened at once waits instead of failing."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # named as TCP, so that the event loop sends head and body of an answer at once: held back for the other side's word
    # they would be 40 ms late
    made = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((host, port))
    except OSError as trouble:
        made.close()
        raise InputError(
            Problem(
                f"nothing can listen there: {(trouble.strerror or 'unknown reason').lower()}",
                value=f"{host}:{port}",
                accepted="a port that no other program uses",
                mend="Is the shop open already? Else give another with --port, or --port 0 for any that is free.",
                key="--port",
            )
        ) from trouble
    made.listen(128)
    return made


def _serve(shop: Shop, settings: Settings, listening: socket.socket) -> None:
    import uvicorn

    from carwright.web.app import create_app

    app = create_app(shop, settings)

    class Server(uvicorn.Server):
        def handle_exit(self, sig: int, frame: FrameType | None) -> None:
            app.state.watcher.close()  # pages that listen would else keep it from ending
            super().handle_exit(sig, frame)

    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        proxy_headers=False,
        server_header=False,
        lifespan="off",
        timeout_graceful_shutdown=2,
    )
    # a plan is many small records of which few hundred hang in cycles: looking for those at the usual pace, or at a
    # tenth of it, falls into somebody's change; at this one a look of 0.05 s comes once in some seven hundred plans
    gc.freeze()
    gc.set_threshold(400_000, 20, 100)
    with contextlib.suppress(KeyboardInterrupt):
        Server(config).run(sockets=[listening])
