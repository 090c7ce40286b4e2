"""`coiltoll app`: the pages in a browser, served by this computer to itself."""

from pathlib import Path
from typing import Annotated

import typer

from dashboard.web.settings import USUAL_WORKSPACE

WorkspaceOption = Annotated[
    Path, typer.Option(metavar="DIR", help="Folder in which units are stored; created at the first save.")
]
AddressOption = Annotated[
    str,
    typer.Option(
        metavar="ADDRESS",
        help="Address to listen on. With any address but this computer's own, others on the network can read "
        "and change the units.",
    ),
]
PortOption = Annotated[int, typer.Option(min=1, max=65535, help="Port to listen on.")]


def app(
    workspace: WorkspaceOption = Path(USUAL_WORKSPACE),
    address: AddressOption = "127.0.0.1",
    port: PortOption = 8501,
) -> None:
    """Open the pages: readings, fit, comparison, fouling, cost and report of every unit in a folder.

    Listens on this computer only, unless --address says otherwise. Needs no network and sends no data. Stop
    it with Ctrl-C.
    """
    import os
    from threading import Thread

    import dashboard
    from calibration.case.atomic_file import clear_unfinished
    from dashboard.commands import terminal
    from dashboard.web.settings import SETTINGS, WORKSPACE_VARIABLE

    try:
        folder = workspace.expanduser().resolve()
    except RuntimeError:
        raise ValueError(f"--workspace: {workspace} names nobody's home; a folder is expected") from None
    if folder.exists() and not folder.is_dir():
        raise ValueError(f"--workspace: {folder} is a file; a folder is expected")
    _check_free(address, port)
    clear_unfinished(folder)
    os.environ[WORKSPACE_VARIABLE] = str(folder)
    shown = "localhost" if address in ("127.0.0.1", "::1") else address
    terminal.print_lines(
        f"Units are stored in {folder}.", f"Open http://{shown}:{port} in a browser; Ctrl-C stops it."
    )
    Thread(target=_warm_up, daemon=True).start()
    from dashboard.web.server import page_app

    settings = SETTINGS | {"server.address": address, "server.port": port, "browser.serverAddress": shown}
    page_app(Path(dashboard.__file__).with_name("web") / "app.py", address).run(config=settings)


def _check_free(address: str, port: int) -> None:
    """Refuse an address that is not this computer's, or a port that something else listens on."""
    import socket

    try:
        family = socket.getaddrinfo(address, port, type=socket.SOCK_STREAM)[0][0]
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind((address, port))
    except OSError as error:
        raise ValueError(
            f"--port: cannot listen on port {port} of {address} ({error.strerror}); a free port is expected"
        ) from None


def _warm_up() -> None:
    """Load what the first page would wait for, and keep it out of the collection of garbage.

    Streamlit collects garbage after every run of a page, a tenth of a second with all libraries in memory.
    """
    import gc

    import plotly.graph_objects
    import plotly.io  # noqa: F401

    from dashboard.web import (
        cached,  # noqa: F401
        cost_page,  # noqa: F401
        screen,  # noqa: F401
    )
    from model.properties.refrigerant import refrigerant

    refrigerant("R410A")
    gc.collect()
    gc.freeze()
