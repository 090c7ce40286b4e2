"""The same input gives the same output to the last digit: cold on one thread and warm on two."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from dashboard.cli import COMMANDS
from tests.made_logs import made_log, write_log

ROOT = Path(__file__).resolve().parent.parent
DEMO = str(ROOT / "cases" / "demo.toml")
LONG = {"season", "interval"}  # take several seconds each; the report has both
APART = {"steady-state", "study", "demo", "app", "report"} | LONG
OF_A_CASE = [
    name for name in COMMANDS if name not in {"steady-state", "study", "demo", "app", "report"} | LONG
]

PROGRAM = """
import sys
from dashboard.cli import run
for words in sys.argv[1:]:
    print("##", words, flush=True)
    print("##", run(words.split()), flush=True)
"""


def run_all(commands: list[str], out: Path, **environment: str) -> tuple[dict[str, bytes], dict[str, bytes]]:
    """What each command prints, by its words, and what is written to a folder."""
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, *commands],
        cwd=ROOT, env=os.environ | environment, capture_output=True, timeout=300, check=True,
    )  # fmt: skip
    assert done.stdout.count(b"\n## 0\n") == len(commands), done.stderr
    parts = done.stdout.replace(str(out).encode(), b"OUT").split(b"\n## 0\n")
    printed = dict(zip([words.replace(str(out), "OUT") for words in commands], parts, strict=False))
    return printed, {path.name: path.read_bytes() for path in out.iterdir()}


@pytest.fixture(scope="module")
def outputs(tmp_path_factory):
    """What every command prints and writes under two sets of circumstances."""
    given = tmp_path_factory.mktemp("given")
    log = write_log(given / "log.csv", made_log())
    table = given / "given.csv"
    table.write_text("outdoor_db,return_db,return_wb,condenser_blocked\n95,80,67,0\n110,80,72,0.5\n", "utf-8")
    cold = tmp_path_factory.mktemp("cold")
    found = {}
    for number, (name, threads) in enumerate([("cold on one thread", "1"), ("warm on two", "2")]):
        out = tmp_path_factory.mktemp("out")
        commands = [f"{command} {DEMO} --json" for command in OF_A_CASE]
        commands += [f"measure {DEMO}", f"steady-state {log} -o {out}/traces.svg --json"]
        commands += [f"predict {DEMO} --conditions {table} -o {out}/table.csv"]
        commands += [f"report {DEMO} -o {out}/report.pdf --json"]
        counts = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), threads)
        found[name] = run_all(
            commands, out, **counts, COILTOLL_CACHE=str(cold), PYTHONHASHSEED=str(number + 1)
        )
    return found


def test_outputs_are_the_same_to_the_last_digit(outputs):
    """Tables of properties just built or read from a file, one thread or two, another seed of hashes."""
    (first_printed, first_files), (printed, files) = outputs.values()
    for words, text in printed.items():
        assert text == first_printed[words], words
    assert set(files) == {"traces.svg", "table.csv", "report.pdf"}
    for file, content in files.items():
        assert content == first_files[file], file
