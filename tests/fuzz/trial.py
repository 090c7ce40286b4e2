"""One run of a command on a file, and what is wrong with how it ended.

Not a test. A command may end with status 0; or with status 2, a sentence on standard error, nothing on
standard output and nothing written. Anything else is a fault of the program.
"""

import contextlib
import io
import math
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from dashboard.cli import run

MOST_CALLS = 3_000_000
"""Calls of functions in which a file must be refused, whatever machine counts them: the bound on work. The
demo case is read and measured in some 330,000."""
MOST_LINES = 120
"""Lines that a refusal may have."""
MOST_CHARACTERS = 1000
"""Characters that one line of it may have."""


@dataclass(frozen=True)
class Ending:
    """How a command ended, and the names of files that it left behind."""

    status: int
    out: str
    err: str
    calls: int
    left: frozenset[str]

    def problems(self) -> list[str]:
        """What must not be: empty when all is well."""
        found = []
        if self.status not in (0, 2):
            found.append(f"status {self.status}: {self.err[:400]}")
        lines = self.err.splitlines()
        if self.status == 2:
            if not lines or not all(line.startswith("coiltoll: ") and len(line) > 20 for line in lines):
                found.append(f"no sentence: {self.err[:400]!r}")
            if self.out:
                found.append(f"refused after {self.out[:100]!r} was printed")
            if self.left:
                found.append(f"refused and left {sorted(self.left)}")
            if self.calls > MOST_CALLS:
                found.append(f"took more than {MOST_CALLS} calls to refuse")
        if len(lines) > MOST_LINES or any(len(line) > MOST_CHARACTERS for line in lines):
            found.append(f"{len(lines)} lines, the longest of {max(map(len, lines))} characters")
        shown = self.out + self.err
        if any(not c.isprintable() and c not in "\n\t" for c in shown):
            found.append("shows characters that act on a terminal")
        if "Traceback" in shown or "nan" in self.out.lower().replace("refrigerant", "").split():
            found.append("shows a traceback or a number that is none")
        return found


@contextlib.contextmanager
def counted_calls(most: float = math.inf) -> Iterator[list[int]]:
    """Count every call of a function, in Python or in C, of this thread; the first number of the list.

    Counting ends with the first call beyond `most`, as it makes a long run several times as long.
    """
    calls = [0]

    def count(frame: object, event: str, argument: object) -> None:
        if event in ("call", "c_call"):
            calls[0] += 1
            if calls[0] > most:
                sys.setprofile(former)

    former = sys.getprofile()
    sys.setprofile(count)
    try:
        yield calls
    finally:
        sys.setprofile(former)


def ending(words: list[str], folder: Path) -> Ending:
    """Run a command and look at what it leaves in a folder."""
    before = {path.name: path.stat().st_mtime_ns for path in folder.iterdir()}
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), counted_calls(MOST_CALLS) as calls:
        status = run(words)
    after = {path.name: path.stat().st_mtime_ns for path in folder.iterdir()}
    left = frozenset(name for name, changed in after.items() if before.get(name) != changed)
    return Ending(status, out.getvalue(), err.getvalue(), calls[0], left)
