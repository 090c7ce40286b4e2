"""The command line: what goes wrong is a sentence and a status, what goes right is the same in every form."""

import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from calibration.case.file import read_case
from calibration.case.keys import keys_of
from dashboard import cli
from dashboard.cli import COMMANDS, run
from dashboard.web.page_list import EVERY
from tests.conftest import HANGING

ROOT = Path(__file__).resolve().parent.parent.parent

CASE = """
units = "US"

[unit]
name = "Test unit"
refrigerant = "R410A"
expansion = "TXV"
rated_capacity = 30000

[[visit]]
label = "spring"
coil = "clean"
outdoor_db = 95
return_db = 80
return_wb = 67
supply_db = 59
supply_wb = 57
indoor_airflow = 1000
suction_pressure = 132
liquid_pressure = 370
suction_temperature = 60
liquid_temperature = 100
outdoor_power = 2500
indoor_power = 420

[[visit]]
label = "autumn"
coil = "as found"
outdoor_db = 88
return_db = 78
return_rh = 50
suction_pressure = 135
liquid_pressure = 410
"""


@pytest.fixture
def case(tmp_path) -> Path:
    path = tmp_path / "unit.toml"
    path.write_text(CASE, encoding="utf-8")
    return path


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_and_a_place_in_readme_and_changelog(name, capsys):
    assert run([name, "--help"]) == 0
    told = capsys.readouterr().out
    assert len(told.splitlines()) > 5
    for text in ("README.md", "CHANGELOG.md"):
        assert f"coiltoll {name}" in (ROOT / text).read_text(encoding="utf-8"), text


def test_no_words_at_all_show_the_help(capsys):
    assert run([]) == 0
    told = capsys.readouterr().out
    for name in COMMANDS:
        assert name in told


def test_the_table_and_json_show_the_same_figures(case, capsys):
    assert run(["measure", str(case)]) == 0
    table = capsys.readouterr().out
    assert run(["measure", str(case), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["units"] == "US"
    spring, autumn = told["visits"]
    assert spring["figures"]["superheat"]["low"] < spring["figures"]["superheat"]["value"]
    assert f"{spring['figures']['net_capacity']['value']:,.0f}" in table
    assert f"{autumn['figures']['approach']['value']:.1f}" in table
    assert "superheat" in autumn["missing"]
    assert "superheat" not in autumn["figures"]
    assert "autumn: Suction pipe would add: Superheat." in table


def test_the_case_in_the_examples_is_a_case(tmp_path, capsys):
    path = tmp_path / "readme.toml"
    path.write_text("\n".join(written_examples()), encoding="utf-8")
    assert run(["measure", str(path), "--json"]) == 0
    figures = json.loads(capsys.readouterr().out)["visits"][0]["figures"]
    assert {"superheat", "subcooling", "approach", "net_capacity", "eer", "cop"} <= figures.keys()
    case = read_case(path)
    assert case.season.tariff.periods[0].months == (6, 7, 8, 9)
    assert case.cleaning.growth_form == "bursts"


def test_the_examples_show_every_key_of_costs_and_dates():
    _, costs = written_examples()
    for section in ("season", "tariff", "period", "block", "bill", "cleaning"):
        for name in keys_of(section):
            assert re.search(rf"^(# )?{name} = ", costs, re.MULTILINE), f"{section}: {name}"


def written_examples() -> list[str]:
    """The case file, and what it may say of costs and dates."""
    return re.findall(r"```toml\n(.*?)```", (ROOT / "cases/README.md").read_text(encoding="utf-8"), re.DOTALL)


def test_the_tour_shows_every_page_at_both_widths():
    page = (ROOT / "dashboard/README.md").read_text(encoding="utf-8")
    shown = re.findall(r'src="(tour/[^"]+)"', page)
    pages = [one.address or "start" for one in EVERY]
    wanted = {f"tour/{page}-{width}.png" for page in (*pages, "new-unit") for width in (1280, 390)}
    assert set(shown) == wanted
    for picture in shown:
        assert 5_000 < (ROOT / "dashboard" / picture).stat().st_size < 150_000


def test_units_change_numbers_and_labels_together(case, capsys):
    assert run(["measure", str(case), "--json", "--units", "si"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["units"] == "SI"
    readings = told["visits"][0]["readings"]
    assert readings["outdoor_db"] == {"value": 35.0, "unit": "degC"}
    assert readings["outdoor_power"] == {"value": 2500.0, "unit": "W"}


def test_the_same_call_prints_the_same_bytes(case, capsys):
    printed = []
    for _ in range(2):
        assert run(["measure", str(case)]) == 0
        printed.append(capsys.readouterr().out)
    assert printed[0] == printed[1]


def lines_of_failure(capsys) -> list[str]:
    done = capsys.readouterr()
    assert done.out == ""
    assert "Traceback" not in done.err
    lines = done.err.splitlines()
    assert all(line.startswith("coiltoll: ") for line in lines)
    return lines


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["predict", "CASE", "--outdoor-db", "hot"], "--outdoor-db: got 'hot'; a number is expected."),
        (["predict", "CASE", "--blocked", "half"], "--blocked: 'half' is no number; 0 to 95 % is expected"),
        (["predict", "CASE", "--blocked", "10,97"], "--blocked: is 97 %; 0 to 95 % is expected"),
        (["season", "CASE", "--draws", "2.5"], "--draws: got '2.5'; a whole number is expected."),
        (["season", "CASE", "--draws", "1"], "--draws: got '1'; greater than or equal to 2 is expected."),
        (["measure", "CASE", "--units", "feet"], "--units: 'feet' is not one of 'us', 'si'."),
    ],
)
def test_an_option_of_the_wrong_kind_is_told_with_its_value(words, told, case, capsys):
    assert run([str(case) if word == "CASE" else word for word in words]) == 2
    (line,) = lines_of_failure(capsys)
    assert line.startswith(f"coiltoll: {told}")


def test_every_fault_of_a_case_is_a_line_and_the_file_is_not_touched(case, capsys):
    broken = CASE.replace("return_wb = 67", "return_wb = 97").replace("outdoor_db = 88", 'outdoor_db = "hot"')
    case.write_text(broken, encoding="utf-8")
    assert run(["measure", str(case)]) == 2
    lines = lines_of_failure(capsys)
    assert len(lines) == 2
    assert any("return_wb" in line for line in lines)
    assert any("outdoor_db" in line and "autumn" in line for line in lines)
    assert case.read_text(encoding="utf-8") == broken


def test_a_case_without_visits_is_refused(case, capsys):
    case.write_text(CASE[: CASE.index("[[visit]]")], encoding="utf-8")
    assert run(["measure", str(case)]) == 2
    (line,) = lines_of_failure(capsys)
    assert "has no visit" in line
    assert run(["predict", str(case), "--visit", "autumn"]) == 2
    (line,) = lines_of_failure(capsys)
    assert "no visit 'autumn'; it has none at all" in line


@pytest.mark.parametrize(
    "words, part",
    [
        (["measure", "/nowhere/at/all.toml"], "no such file"),
        (["measure"], "CASE"),
        (["measure", "x.toml", "--units", "metric"], "metric"),
        (["mesure", "x.toml"], "mesure"),
        (["measure", "x.toml", "--nonsense"], "nonsense"),
    ],
)
def test_a_call_at_fault_is_one_line_and_status_two(words, part, capsys):
    assert run(words) == 2
    (line,) = lines_of_failure(capsys)
    assert part in line


def raising(error: BaseException):
    def fail() -> None:
        raise error

    return fail


@pytest.mark.parametrize(
    "error, status, part",
    [
        (KeyboardInterrupt(), 130, "stopped"),
        (PermissionError(13, "Permission denied", "case.toml"), 2, "case.toml: Permission denied"),
        (ValueError("one\ntwo"), 2, "one"),
        (KeyError("inner"), 1, "internal error, not caused by the input"),
        (MemoryError(), 1, "MemoryError"),
    ],
)
def test_what_a_command_raises_becomes_a_status_and_a_sentence(error, status, part, monkeypatch, capsys):
    monkeypatch.delenv("COILTOLL_TRACEBACK", raising=False)
    monkeypatch.setattr("dashboard.commands.measure.measure", raising(error))
    assert run(["measure"]) == status
    assert part in lines_of_failure(capsys)[0]


@pytest.mark.parametrize("error", [ValueError("here"), KeyError("here")])
def test_contributors_can_have_the_traceback(error, monkeypatch):
    monkeypatch.setenv("COILTOLL_TRACEBACK", "1")
    monkeypatch.setattr("dashboard.commands.measure.measure", raising(error))
    with pytest.raises(type(error)):
        run(["measure"])


def test_a_reader_that_goes_away_is_no_fault(case):
    command = [sys.executable, "-c", "import sys; from dashboard.cli import run; sys.exit(run())"]
    reading, writing = os.pipe()
    os.close(reading)
    try:
        done = subprocess.run(
            [*command, "measure", str(case), "--figures-only", "--json"],
            stdout=writing, stderr=subprocess.PIPE, cwd=ROOT, text=True, timeout=HANGING, check=False,
        )  # fmt: skip
    finally:
        os.close(writing)
    assert (done.returncode, done.stderr) == (0, "")


def test_output_survives_a_terminal_that_knows_ascii_only(case):
    command = [sys.executable, "-c", "import sys; from dashboard.cli import run; sys.exit(run())"]
    done = subprocess.run(
        [*command, "measure", str(case), "--figures-only"],
        capture_output=True, cwd=ROOT, timeout=HANGING, check=False,
        env=os.environ | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"Superheat" in done.stdout


def test_letters_that_a_terminal_lacks_are_substituted_and_escaped_in_json(case):
    case.write_text(CASE.replace("Test unit", "Kühlgerät 空調"), encoding="utf-8")
    environment = os.environ | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = [
        subprocess.run(
            [sys.executable, "-m", "dashboard.cli", "measure", str(case), "--figures-only", *more],
            capture_output=True, cwd=ROOT, timeout=300, check=False, env=environment,
        )
        for more in ([], ["--json"])
    ]  # fmt: skip
    assert [(one.returncode, one.stderr) for one in done] == [(0, b"")] * 2
    assert done[0].stdout.startswith(b"K?hlger?t ??, R410A, TXV")
    assert done[0].stdout.count(b"Suction pressure") == 1
    assert b"EER" in done[0].stdout
    assert json.loads(done[1].stdout)["unit"] == "Kühlgerät 空調"


def test_the_module_is_the_command():
    done = subprocess.run(
        [sys.executable, "-m", "dashboard.cli", "measure", "nowhere.toml"],
        capture_output=True, cwd=ROOT, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (2, "coiltoll: nowhere.toml: there is no such file\n")


def test_a_closed_output_is_no_fault(case):
    done = subprocess.run(
        ["/bin/sh", "-c", f'"{sys.executable}" -m dashboard.cli measure "{case}" --figures-only >&-'],
        capture_output=True, cwd=ROOT, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize(
    "words",
    [
        ["measure", "{odd}"],
        ["steady-state", "{odd}"],
        ["steady-state", "{log}", "--into", "{odd}"],
        ["predict", "{case}", "--conditions", "{odd}", "-o", "{out}"],
        ["report", "{odd}", "-o", "{out}.pdf"],
    ],
)
@pytest.mark.parametrize("kind", ["pipe", "device", "folder"])
def test_an_input_that_is_no_regular_file_is_refused_and_never_waited_for(words, kind, case, capsys):
    """A pipe that nobody writes to would block for ever where it is opened."""
    odd = case.with_name("odd")
    if kind == "pipe":
        os.mkfifo(odd)
    elif kind == "device":
        odd.symlink_to("/dev/zero")
    else:
        odd.mkdir()
    log = case.with_name("log.csv")
    log.write_text("time,outdoor_db\n0,95\n1,95\n", encoding="utf-8")
    places = {"odd": odd, "log": log, "case": case, "out": case.with_name("out")}
    assert run([word.format_map(places) for word in words]) == 2
    done = capsys.readouterr()
    assert done.out == ""
    assert "file" in done.err


def test_the_process_words_are_the_default(monkeypatch, capsys):
    monkeypatch.setattr(sys, "argv", ["coiltoll", "--version"])
    assert run() == 0
    assert capsys.readouterr().out.startswith("coiltoll ")


def test_a_closed_pipe_inside_a_command_is_no_fault_either(monkeypatch):
    monkeypatch.setattr("dashboard.commands.measure.measure", raising(BrokenPipeError()))
    monkeypatch.setattr(cli, "_leave_a_closed_pipe_alone", lambda: None)
    monkeypatch.setattr(sys, "stdout", io.StringIO())
    assert run(["measure"]) == 0
