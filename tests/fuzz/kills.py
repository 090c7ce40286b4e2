"""Kill a process that saves, again and again at random moments: `python -m tests.fuzz.kills [times [seed]]`.

After every kill the file must hold the last version whose save was done or the one that was being saved, and
its backup an older one; nothing else may carry the name of a case file. The last save takes away what the
killed ones left. The saving process says by a pipe
which version it begins and which is done, so that "done" means that `write_case` came back.
"""

import os
import random
import signal
import sys
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path

from calibration.case.file import parse_case, read_case, write_case
from calibration.case.records import Case, CleaningEntry
from tests.fuzz.hostile_files import DEMO

LONGEST_WAIT = 0.006
"""Longest time from the first save of a process to its kill [s]; a save takes some milliseconds."""


@dataclass(frozen=True)
class Tally:
    """How the kills ended: at which version the file was, seen from the save that was interrupted."""

    kills: int
    old: int
    new: int
    between: int
    leftovers: int


def kill_savers(folder: Path, times: int, seed: int = 1) -> Tally:
    """Kill a saving process many times and check the file after each.

    Raises
    ------
    AssertionError
        Where a version was lost or a file is not whole.
    """
    rng = random.Random(seed)
    path = folder / "unit.toml"
    # a case without visits: most of the time of a save is then spent on the disk, where the kill is to fall
    case = replace(parse_case(DEMO), visits=(), season=None)
    write_case(priced(case, 0), path)
    done, old, new, between = 0, 0, 0, 0
    for _ in range(times):
        begun, done_now = _killed_saver(case, path, done, rng.uniform(0.0, LONGEST_WAIT))
        found = price_of(path)
        assert found in (done_now, begun), f"version {found} is there; {done_now} was saved, {begun} begun"
        backup = path.with_name("unit.toml.bak")
        if backup.exists():
            assert price_of(backup) in (found - 1, found), (
                f"backup holds {price_of(backup)}, the file {found}"
            )
        assert [entry.name for entry in folder.glob("*.toml")] == ["unit.toml"]
        between += begun == done_now
        old += begun > done_now and found == done_now
        new += begun > done_now and found == begun
        done = found
    leftovers = len(list(folder.glob(".*.tmp")))
    write_case(priced(case, done + 1), path)
    assert sorted(entry.name for entry in folder.iterdir()) == ["unit.toml", "unit.toml.bak"]
    return Tally(times, old, new, between, leftovers)


def priced(case: Case, number: int) -> Case:
    """The case as its version of a number."""
    return replace(case, cleaning=CleaningEntry(price=float(number)))


def price_of(path: Path) -> int:
    """Number of the version in a file, which must be whole."""
    cleaning = read_case(path).cleaning
    assert cleaning is not None
    assert cleaning.price is not None
    return int(cleaning.price)


def _killed_saver(case: Case, path: Path, last: int, wait: float) -> tuple[int, int]:
    """Last version that a process began to save and the last that it had done when it was killed."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        number = last
        while True:
            number += 1
            os.write(writing, b"b%09d" % number)
            write_case(priced(case, number), path)
            os.write(writing, b"d%09d" % number)
    os.close(writing)
    told = os.read(reading, 10) + os.read(reading, 10)  # begun and done once
    time.sleep(wait)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    while piece := os.read(reading, 65536):
        told += piece
    os.close(reading)
    words = [told[i : i + 10] for i in range(0, len(told), 10)]
    begun = [int(word[1:]) for word in words if word[:1] == b"b"]
    done = [int(word[1:]) for word in words if word[:1] == b"d"]
    return begun[-1], done[-1]


def main(times: int, seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        tally = kill_savers(Path(folder), times, seed)
    print(
        f"{tally.kills} kills: during a save {tally.old + tally.new} "
        f"(old version there {tally.old}, new one {tally.new}), between two saves {tally.between}; "
        "no version lost, every file whole; "
        f"{tally.leftovers} hidden unfinished files, swept by the last save"
    )


if __name__ == "__main__":
    words = sys.argv[1:]
    main(int(words[0]) if words else 500, int(words[1]) if words[1:] else 1)
