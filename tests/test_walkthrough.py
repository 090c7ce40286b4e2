"""The worked examples run from any folder and says what the command line says."""

import json
import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

from dashboard.cli import run
from tests.conftest import HANGING

ROOT = Path(__file__).resolve().parent.parent


def test_the_example_runs_and_agrees_with_the_command_line(tmp_path, capsys):
    done = subprocess.run(
        [sys.executable, str(ROOT / "cases" / "walkthrough.py")],
        cwd=tmp_path, env={"PYTHONPATH": str(ROOT), "PATH": ""}, capture_output=True, text=True,
        timeout=HANGING, check=True,
    )  # fmt: skip
    assert done.stderr == ""
    assert run(["compare", str(ROOT / "cases" / "demo.toml"), "--json"]) == 0
    (told,) = json.loads(capsys.readouterr().out)["comparisons"]
    share = re.search(r"blocked share of the face: (\d+)%", done.stdout)
    assert share is not None
    assert int(share[1]) == round(told["severity"]["condenser_blocked"]["value"])
    assert "verdict: fault; to do: clean_condenser" in done.stdout
    table = re.findall(r"^ +(\d+)% +([\d.]+) +([\d.]+) +([\d.]+)   ok$", done.stdout, re.MULTILINE)
    rows = [list(map(float, row)) for row in table]
    assert [row[0] for row in rows] == [0, 20, 40, 60]
    for first, second in pairwise(rows):
        assert all(less < more for less, more in zip(second[1:], first[1:], strict=True))


def test_the_example_of_many_units_runs(tmp_path):
    done = subprocess.run(
        [sys.executable, str(ROOT / "cases" / "many_units.py")],
        cwd=tmp_path, env={"PYTHONPATH": str(ROOT), "PATH": ""}, capture_output=True, text=True,
        timeout=HANGING, check=True,
    )  # fmt: skip
    first, *rows = done.stdout.splitlines()
    assert first == "3 units, 3 worked out, 0 rows left out"
    assert len(rows) == 3
    assert list(tmp_path.iterdir()) == []
