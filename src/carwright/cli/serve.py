"""``carwright serve``: the shop's pages, to this machine alone unless told otherwise."""

from __future__ import annotations

import contextlib
import socket
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.web.settings import Settings

__all__ = ["command"]


def command(
    *,
    port: int = 8765,
    shop: str | None = None,
    open_page: Annotated[bool, Parameter(name="--open", negative="")] = False,
) -> int:
    """Open the shop's pages in a browser: the line of cars, each car, shelf, cutting, print.

    It listens to this machine alone and ends with Ctrl+C. Everything is kept in
    one file as it is typed; nothing is ever written over.

    Args:
        port: Where it listens: http://127.0.0.1:8765.
        shop: The shop: a file, or postgresql://... Without it, the one in your data folder.
        open_page: Open the page in the browser, too.
    """
    if not 0 <= port <= 65535:
        raise InputError(Problem("there is no such port", str(port), "1 to 65535, or 0 for a free one", key="--port"))
    from carwright.shop import open_shop
    from carwright.web.settings import Settings

    settings = Settings()
    listening = _listen("127.0.0.1", port)
    address = f"http://127.0.0.1:{listening.getsockname()[1]}"
    opened = open_shop(shop)
    print(f"The shop is open at {address}\nIt ends with Ctrl+C.", flush=True)
    if open_page:
        import webbrowser

        webbrowser.open(address)
    _serve(opened, settings, listening)
    return 0


def _listen(host: str, port: int) -> socket.socket:
    """Return the socket, listening already, so that a browser opened at once waits instead of failing."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    made = socket.socket(family, socket.SOCK_STREAM)
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


def _serve(shop: object, settings: Settings, listening: socket.socket) -> None:
    import uvicorn

    from carwright.web.app import create_app

    app = create_app(shop, settings)  # type: ignore[arg-type]
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        proxy_headers=False,
        server_header=False,
        lifespan="off",
        timeout_graceful_shutdown=2,
    )
    with contextlib.suppress(KeyboardInterrupt):
        uvicorn.Server(config).run(sockets=[listening])
