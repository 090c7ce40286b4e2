"""Whatever happens during a save, the file holds the old version or the new one, and what went wrong is said.

Kills at random moments are `make kills`.
"""

import io
import itertools
import os
import resource
import signal
import sys
from pathlib import Path

import pytest

from calibration.case.file import parse_case, read_case, write_case
from calibration.case.records import Case
from calibration.files import atomic_file
from calibration.measured import steady_state
from dashboard.cli import run
from tests.fuzz.hostile_files import DEMO
from tests.fuzz.kills import price_of, priced
from tests.made_logs import made_log, write_log

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals, forks and limits are of POSIX systems")
NOBODY = 65534


@pytest.fixture
def case(tmp_path):
    path = tmp_path / "unit.toml"
    path.write_text(DEMO, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def log(tmp_path_factory):
    return str(write_log(tmp_path_factory.mktemp("logs") / "log.csv", made_log(settling=0.0)))


def in_child(
    words: list[str], *, largest_file: int | None = None, user: int | None = None
) -> tuple[int, str]:
    """Status and standard error of a command that runs in a forked process with less rights."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        os.dup2(writing, 2)
        sys.stderr = os.fdopen(2, "w", encoding="utf-8")
        sys.stdout = io.StringIO()
        status = 99
        try:
            if largest_file is not None:
                signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
                resource.setrlimit(resource.RLIMIT_FSIZE, (largest_file, largest_file))
            if user is not None:
                os.setuid(user)
            status = run(words)
        finally:
            sys.stderr.flush()
            os._exit(status)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as pipe:
        told = pipe.read()
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), told


STEPS = {"make": (atomic_file, "_locked_file"), "sync": (os, "fsync"), "put in place": (os, "replace")}
"""Steps of a save, none of which it can do without."""


def save_in_child(path: Path, case: Case, kill_at: tuple[int, str] | None = None) -> tuple[int, list[str]]:
    """Status of a forked process that saves a case, and the steps that it said it came to.

    Parameters
    ----------
    path : Path
        File that is saved.
    case : Case
        Its new content.
    kill_at : (int, {"before", "after"}) or None
        Number of the step at which the process kills itself; None to let it save.
    """
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        status = 99
        try:
            count = itertools.count()
            for name, (module, function) in STEPS.items():
                setattr(module, function, killing(getattr(module, function), name, count, writing, kill_at))
            write_case(case, path)
            status = 0
        finally:
            os._exit(status)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as pipe:
        steps = pipe.read().splitlines()
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), steps


def killing(real, name, count, writing, kill_at):
    """A step that is said, and before or after which the process is killed when its number has come."""

    def step(*words, **named):
        number = next(count)
        os.write(writing, f"{name}\n".encode())
        if kill_at == (number, "before"):
            os.kill(os.getpid(), signal.SIGKILL)
        found = real(*words, **named)
        if kill_at == (number, "after"):
            os.kill(os.getpid(), signal.SIGKILL)
        return found

    return step


def test_killed_at_any_step_of_a_save_there_is_the_old_version_or_the_new(case):
    """The new version is there from the last time that a file is put in place, the old one before."""
    first, second, third = (priced(parse_case(DEMO), number) for number in (1, 2, 3))
    write_case(first, case)
    status, steps = save_in_child(case, second)
    assert (status, price_of(case)) == (0, 2)
    assert set(steps) == set(STEPS), "every step is one that a save comes to"
    placed = max(number for number, name in enumerate(steps) if name == "put in place")
    kills = list(itertools.product(range(len(steps)), ("before", "after")))
    for number, when in kills:
        write_case(first, case)
        write_case(second, case)
        status, reached = save_in_child(case, third, (number, when))
        assert (status, reached) == (-signal.SIGKILL, steps[: number + 1]), "killed at that step"
        new = number > placed or (number, when) == (placed, "after")
        assert price_of(case) == (3 if new else 2), (number, when)
        assert price_of(case.with_name("unit.toml.bak")) in ((2,) if new else (1, 2))
        assert [entry.name for entry in case.parent.glob("*.toml")] == ["unit.toml"]


@pytest.mark.parametrize("largest", [0, 100, 2000])
def test_a_full_disk_is_told_and_the_case_stays(case, log, largest):
    """The limit on the size of a file makes writes fail as on a full disk."""
    before = case.read_bytes()
    status, told = in_child(["steady-state", log, "--into", str(case)], largest_file=largest)
    assert status == 2
    assert told.strip() == f"coiltoll: {case}: File too large"
    assert case.read_bytes() == before
    assert [entry.name for entry in case.parent.iterdir()] == ["unit.toml"]


@pytest.mark.parametrize("refusing", ["the disk", "another save"])
def test_case_and_picture_are_written_together_or_not_at_all(case, log, refusing, monkeypatch):
    """The case has no room, or was changed by another program: no picture is left of what was refused."""
    picture = case.with_name("traces.svg")
    words = ["steady-state", log, "--into", str(case), "-o", str(picture)]
    if refusing == "another save":
        real = steady_state.steady_record

        def slow(*given):
            case.write_text(DEMO.replace("price = 165", "price = 170"), encoding="utf-8")
            return real(*given)

        monkeypatch.setattr(steady_state, "steady_record", slow)
        assert run(words) == 2
        monkeypatch.undo()
    else:
        case.write_text(DEMO + ("# " + "much of a comment " * 4 + "\n") * 18_000, encoding="utf-8")
        written = case.read_bytes()
        status, told = in_child(words, largest_file=1_000_000)
        assert (told.strip(), status) == (f"coiltoll: {case}: File too large", 2)
        assert case.read_bytes() == written
    assert [entry.name for entry in case.parent.iterdir()] == ["unit.toml"]
    assert run(words) == 0
    assert 0 < picture.stat().st_size < 1_000_000
    assert len(read_case(case).visits) == 3


def test_a_picture_without_room_leaves_the_case(case, log):
    before = case.read_bytes()
    picture = case.with_name("gone") / "traces.svg"
    status, told = in_child(["steady-state", log, "--into", str(case), "-o", str(picture)])
    assert (told.strip(), status) == (f"coiltoll: {picture}: No such file or directory", 2)
    assert case.read_bytes() == before
    assert [entry.name for entry in case.parent.iterdir()] == ["unit.toml"]


@pytest.mark.parametrize("kind", ["html", "csv", "svg"])
@pytest.mark.usefixtures("few_draws")
def test_a_full_disk_leaves_the_old_output(case, log, kind, tmp_path):
    out = tmp_path / f"out.{kind}"
    out.write_bytes(b"old")
    table = tmp_path / "given.csv"
    table.write_text("outdoor_db,return_db,return_wb\n95,80,67\n", encoding="utf-8")
    words = {
        "html": ["report", str(case), "-o", str(out)],
        "csv": ["predict", str(case), "--conditions", str(table), "-o", str(out)],
        "svg": ["steady-state", log, "-o", str(out)],
    }[kind]
    status, told = in_child(words, largest_file=50)
    assert (status, told.strip()) == (2, f"coiltoll: {out}: File too large")
    assert out.read_bytes() == b"old"
    assert not [entry.name for entry in tmp_path.iterdir() if entry.name.startswith(".")]


@pytest.mark.skipif(os.name == "posix" and os.geteuid() != 0, reason="only root can act as another user")
def test_a_folder_that_may_only_be_read_is_told(case, log):
    before = case.read_bytes()
    for folder in (case.parent, *list(case.parents)[1:4]):
        folder.chmod(folder.stat().st_mode | 0o055)
    Path(log).parent.chmod(0o755)
    twin = case.with_name("twin.toml")
    twin.write_bytes(before)
    assert run(["steady-state", log, "--into", str(twin)]) == 0  # imports what the other user has no right to
    status, told = in_child(["steady-state", log, "--into", str(case)], user=NOBODY)
    assert (told.strip(), status) == (f"coiltoll: {case}: Permission denied", 2)
    assert case.read_bytes() == before
    assert {entry.name for entry in case.parent.iterdir()} == {"unit.toml", "twin.toml", "twin.toml.bak"}


def test_a_file_changed_underneath_is_told_and_keeps_the_other_change(case, log, monkeypatch, capsys):
    other = DEMO.replace("price = 165", "price = 170")
    real = steady_state.steady_record

    def slow(*words):
        case.write_text(other, encoding="utf-8")
        return real(*words)

    monkeypatch.setattr(steady_state, "steady_record", slow)
    assert run(["steady-state", log, "--into", str(case)]) == 2
    assert "was changed by somebody else meanwhile" in capsys.readouterr().err
    assert case.read_text(encoding="utf-8") == other
    monkeypatch.undo()
    assert run(["steady-state", log, "--into", str(case)]) == 0
    assert read_case(case).cleaning.price == 170.0
    assert len(read_case(case).visits) == 3


def test_ctrl_c_leaves_the_case_and_says_so(case, log, monkeypatch, capsys):
    before = case.read_bytes()

    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stopped)
    assert run(["steady-state", log, "--into", str(case)]) == 130
    assert "stopped" in capsys.readouterr().err
    assert case.read_bytes() == before
    assert [entry.name for entry in case.parent.iterdir()] == ["unit.toml"]
