"""`coiltoll app`: the pages in a browser, served by this computer to itself."""

from pathlib import Path
from typing import Annotated

import typer

from dashboard.web.settings import USUAL_WORKSPACE

WorkspaceOption = Annotated[
    Path, typer.Option(metavar="DIR", help="Folder in which units are stored; created at the first save.")
]
AddressOption = Annotated[
    str | None,
    typer.Option(
        metavar="ADDRESS",
        help="Address to listen on, this computer's own where none is given. With any other, and without "
        "--share, others on the network can read and change the units.",
    ),
]
ShareOption = Annotated[
    bool,
    typer.Option(
        "--share",
        help="Open the pages to the local network, for reading, with a PIN and a QR code on this terminal.",
    ),
]
EditsOption = Annotated[
    bool, typer.Option("--allow-edits", help="With --share: devices may also enter and change units.")
]
PortOption = Annotated[int, typer.Option(min=1, max=65535, help="Port to listen on.")]


def app(
    workspace: WorkspaceOption = Path(USUAL_WORKSPACE),
    address: AddressOption = None,
    port: PortOption = 8501,
    share: ShareOption = False,
    allow_edits: EditsOption = False,
) -> None:
    """Open the pages: readings, fit, comparison, fouling, cost and report of every unit in a folder.

    Listens on this computer only, unless --share or --address says otherwise. Needs no internet and sends no
    data. Stop it with Ctrl-C.
    """
    import os
    from threading import Thread

    import dashboard
    from calibration.files.atomic_file import clear_unfinished
    from dashboard.commands import terminal
    from dashboard.web.settings import READ_ONLY_VARIABLE, SETTINGS, WORKSPACE_VARIABLE

    if allow_edits and not share:
        raise ValueError("--allow-edits: goes with --share; both are expected")
    folder = _folder(workspace)
    listening = address or (_local_address() if share else "127.0.0.1")
    _check_free(listening, port)
    clear_unfinished(folder)
    os.environ[WORKSPACE_VARIABLE] = str(folder)
    os.environ[READ_ONLY_VARIABLE] = "1" if share and not allow_edits else ""
    shown = "localhost" if listening in ("127.0.0.1", "::1") else listening
    from dashboard.web.gate import new_pin

    pin = new_pin() if share else ""
    terminal.print_lines(f"Units are stored in {folder}.")
    if share:
        _print_way_in(f"http://{shown}:{port}", pin, allow_edits)
    else:
        terminal.print_lines(f"Open http://{shown}:{port} in a browser; Ctrl-C stops it.")
    Thread(target=_warm_up, daemon=True).start()
    from dashboard.web.server import page_app

    settings = SETTINGS | {"server.address": listening, "server.port": port, "browser.serverAddress": shown}
    page_app(Path(dashboard.__file__).with_name("web") / "app.py", listening, pin).run(config=settings)


def _folder(workspace: Path) -> Path:
    """The folder of case files, which may not be there yet."""
    try:
        folder = workspace.expanduser().resolve()
    except RuntimeError:
        raise ValueError(f"--workspace: {workspace} names nobody's home; a folder is expected") from None
    if folder.exists() and not folder.is_dir():
        raise ValueError(f"--workspace: {folder} is a file; a folder is expected")
    return folder


def _local_address() -> str:
    """Address of this computer in its network; nothing is sent to find it out.

    A datagram socket that is connected to an address has the source that a packet to there would get; the
    address is one of those that documents may use and no network has (RFC 5737).
    """
    import socket

    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(("192.0.2.1", 9))
            return str(probe.getsockname()[0])
    except OSError:
        raise ValueError(
            "--share: this computer has no address in a network; join one, or name the address with --address"
        ) from None


def _print_way_in(url: str, pin: str, edits: bool) -> None:
    """Address, PIN and QR code of shared pages, and what sharing means."""
    import sys

    import segno

    from dashboard.commands import terminal

    terminal.print_lines(f"Devices in this network open {url} and give the PIN {pin}, or read this code:", "")
    code = segno.make(f"{url}/pin?pin={pin}", error="m", micro=False)
    if "utf" in (sys.stdout.encoding or "utf").lower():
        code.terminal(out=sys.stdout, compact=True)
    terminal.print_lines(
        "They may read and change the units." if edits else "They may read the units, not change them.",
        "Not encrypted: whoever can listen in the network can read along. Use a network of your own, and "
        "stop it with Ctrl-C when the visit is over.",
    )


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
