"""The app as a process of its own on a free port of this computer."""

import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from tests.conftest import HANGING

ROOT = Path(__file__).resolve().parent.parent
ASKED_EVERY = 0.1  # [s]
PROGRAM = """
import sys
def write_down(event, arguments, called=open({called!r}, "a", buffering=1)):
    if event in ("socket.connect", "socket.getaddrinfo", "socket.gethostbyname", "socket.sendto"):
        print(event, arguments[1:] if event == "socket.connect" else arguments, file=called)
sys.addaudithook(write_down)
from dashboard.cli import run
sys.exit(run({words!r}))
"""


@contextmanager
def started(
    workspace: Path,
    folder: Path | None = None,
    variables: Mapping[str, str] | None = None,
    options: Sequence[str] = (),
) -> Iterator[tuple[str, int]]:
    """Address of the app and number of its process, stopped afterwards.

    Whom the process calls is written into `calls.txt` beside the workspace, a line a call, and what it prints
    into `printed.txt`.

    Parameters
    ----------
    workspace : Path
        Folder of case files.
    folder : Path or None
        The current folder of the process; None for the one that the workspace is in.
    variables : mapping of str to str, or None
        Environment variables beside those of this process.
    options : sequence of str
        Further words of the command.
    """
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    words = ["app", "--workspace", str(workspace), "--port", str(port), *options]
    program = PROGRAM.format(called=str(workspace.parent / "calls.txt"), words=words)
    with (workspace.parent / "printed.txt").open("wb") as printed:
        process = subprocess.Popen(
            [sys.executable, "-c", program],
            cwd=folder or workspace.parent,
            env=os.environ | {"PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"} | dict(variables or {}),
            stdout=printed,
            stderr=subprocess.DEVNULL,
        )
    try:
        address = f"http://localhost:{port}"
        _wait_for(address, process)
        yield address, process.pid
    finally:
        process.terminate()
        process.wait(timeout=HANGING)


def _wait_for(address: str, process: subprocess.Popen) -> None:
    for _ in range(int(HANGING / ASKED_EVERY)):
        if process.poll() is not None:
            raise RuntimeError(f"the app ended with status {process.returncode}")
        try:
            with urllib.request.urlopen(address, timeout=HANGING):
                return
        except urllib.error.HTTPError:  # it answers, be it with a question
            return
        except OSError:
            time.sleep(ASKED_EVERY)
    raise RuntimeError(f"the app does not answer at {address}")


def outside_calls(workspace: Path) -> list[str]:
    """Calls of the process that went further than this computer."""
    lines = (workspace.parent / "calls.txt").read_text(encoding="utf-8").splitlines()
    return [line for line in lines if not any(own in line for own in ("'127.0.0.1'", "'localhost'", "'::1'"))]
