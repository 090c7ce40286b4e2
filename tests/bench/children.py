"""Programs run as processes of their own: time, memory by the system's own accounts, and what they print."""

import os
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from tests.bench.rows import by_processor


class Child(NamedTuple):
    """From start to end, or processor time where that counts [s], largest memory [MB], what it printed."""

    seconds: float
    megabytes: float
    told: str


def child(words: Sequence[str]) -> Child:
    """This interpreter with some words, run to its end; what it says on standard error is left out."""
    with tempfile.TemporaryFile() as said, Path(os.devnull).open("wb") as nowhere:
        begin = time.perf_counter()
        number = os.posix_spawn(
            sys.executable,
            [sys.executable, *words],
            os.environ,
            file_actions=[
                (os.POSIX_SPAWN_DUP2, said.fileno(), 1),
                (os.POSIX_SPAWN_DUP2, nowhere.fileno(), 2),
            ],
        )
        _, status, used = os.wait4(number, 0)
        passed = time.perf_counter() - begin
        said.seek(0)
        told = said.read().decode()
    if status != 0:
        raise RuntimeError(f"{' '.join(words)} ended with status {os.waitstatus_to_exitcode(status)}")
    kilobytes = used.ru_maxrss / (1024.0 if sys.platform == "darwin" else 1.0)
    seconds = used.ru_utime + used.ru_stime if by_processor() else passed
    return Child(seconds, kilobytes / 1024.0, told)


def command(words: Sequence[str]) -> Child:
    """One `coiltoll` command."""
    return child(["-c", f"import sys; from dashboard.cli import run; sys.exit(run({list(words)!r}))"])
