"""Whatever happens during a save, the file holds the old version or the new one, and what went wrong is said.

The longer run of kills is `make kills`.
"""

import io
import os
import resource
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from calibration.case.file import read_case
from calibration.measured import steady_state
from dashboard.cli import run
from tests.fuzz.hostile_files import DEMO
from tests.made_logs import made_log, write_log

ROOT = Path(__file__).resolve().parent.parent
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


def test_killed_while_saving_hundreds_of_times_no_version_is_lost():
    done = subprocess.run(
        [sys.executable, "-m", "tests.fuzz.kills", "200"],
        cwd=ROOT, capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "200 kills" in done.stdout
    assert "no version lost, every file whole" in done.stdout


@pytest.mark.parametrize("largest", [0, 100, 2000])
def test_a_full_disk_is_told_and_the_case_stays(case, log, largest):
    """The limit on the size of a file makes writes fail as on a full disk."""
    before = case.read_bytes()
    status, told = in_child(["steady-state", log, "--into", str(case)], largest_file=largest)
    assert status == 2
    assert told.strip() == f"coiltoll: {case}: File too large"
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
