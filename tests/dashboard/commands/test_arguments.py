"""Nothing that is read, and nobody's case, is replaced by what a command writes."""

import os
from pathlib import Path

import pytest
import typer

from calibration.case.file import read_case
from dashboard.cli import application
from dashboard.commands import arguments, demo
from tests.dashboard.command import refused_in_one_line
from tests.fuzz.hostile_files import DEMO
from tests.made_logs import made_log, write_log

NEWER = DEMO.replace("schema = 1", "schema = 99")
OTHERS = {
    "other.toml": DEMO,
    "newer.toml": NEWER,
    "broken.toml": "units = ",
    "unit.toml.bak": DEMO,
    "renamed.txt": DEMO,
}
TABLES = ("measure", "calibrate", "compare", "match", "interval")
"""Commands that write what they print into a file of tables, too."""
WRITERS = {
    **{name: (".csv", f"{name} {{case}} -o {{out}}") for name in TABLES},
    "predict": (".csv", "predict {case} --conditions {table} -o {out}"),
    "report": (".html", "report {case} -o {out}"),
    "season": (".csv", "season {case} -o {out}"),
    "steady-state": (".svg", "steady-state {log} --into {case} -o {out}"),
    "fleet": (".csv", "fleet {table} --like {case} -o {out}"),
    "plan": (".csv", "plan {table} --crews 1 --from 2026-06-01 --weeks 2 -o {out}"),
    "track": (".csv", "track {case} {log} -o {out}"),
    "demo": (".html", "demo -o {out}"),
    "study fleet": (".csv", "study fleet --units 1 -o {out}"),
    "study causes": (".svg", "study causes -o {out}"),
}
"""What each command that writes a file is called with, and an ending that it takes."""
READ = {
    "predict": ("case", "table", "weather", "load"),
    "report": ("case", "weather", "load"),
    "season": ("case", "weather", "load"),
    "steady-state": ("case", "log", "weather", "load"),
    "fleet": ("case", "table"),
    "plan": ("table",),
    "track": ("case", "log", "weather", "load"),
    "demo": ("case",),
    **dict.fromkeys(TABLES, ("case", "weather", "load")),
}
"""What each of them reads."""


@pytest.fixture
def files(tmp_path, monkeypatch) -> dict[str, Path]:
    """One file of every kind that a command reads; no command may come as far as its work."""
    paths = {name: tmp_path / f"{name}.csv" for name in ("table", "log", "weather", "load")}
    paths["case"] = tmp_path / "unit.toml"
    season = '[season]\nweather = "weather.csv"\nload_file = "load.csv"\n'
    paths["case"].write_text(DEMO.replace('[season]\nweather = "Greensboro NC"\n', season), encoding="utf-8")
    assert read_case(paths["case"]).season.load_file == "load.csv"
    paths["table"].write_text("outdoor_db,return_db,return_wb\n95,80,67\n", encoding="utf-8")
    write_log(paths["log"], made_log(rows=60))
    for name in ("weather", "load"):
        paths[name].write_text("hourly\n", encoding="utf-8")

    def worked(*_, **__):
        pytest.fail("the work was begun")

    for work in (
        "calibration.clean_fit.baseline.baseline_of",
        "calibration.files.log_file.read_log",
        "calibration.track.stretches.steady_stretches",
        "calibration.studies.causes.faults_study",
        "dashboard.commands.compare._show",
    ):
        monkeypatch.setattr(work, worked)
    monkeypatch.setattr(demo, "DEMO_CASE", paths["case"])
    return paths


def call(command: str, files: dict[str, Path], out: Path) -> list[str]:
    """Words of a command that would write to a file."""
    return [word.format(**files, out=out) for word in WRITERS[command][1].split()]


def linked(target: Path, name: str, how: str) -> Path:
    """Another name of a file in its folder: a symbolic or a hard link."""
    link = target.with_name(name)
    if how == "symbolic":
        link.symlink_to(target)
    else:
        os.link(target, link)
    return link


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_every_command_that_writes_a_file_is_in_this_table():
    found = set()

    def look(command, name):
        for inner, one in getattr(command, "commands", {}).items():
            look(one, f"{name} {inner}".strip())
        if any("-o" in parameter.opts for parameter in command.params):
            found.add(name)

    look(typer.main.get_command(application()), "")
    assert found == set(WRITERS)


@pytest.mark.parametrize("how", ["symbolic", "hard"])
@pytest.mark.parametrize(
    ("command", "read"), [(name, kind) for name, kinds in READ.items() for kind in kinds]
)
def test_no_command_writes_over_what_it_reads(command, read, how, files, capsys):
    out = linked(files[read], f"out{WRITERS[command][0]}", how)
    before = contents(out.parent)
    told = refused_in_one_line(capsys, *call(command, files, out))
    assert told.startswith(f"coiltoll: -o: {out} is the same file as {files[read].parent}")
    assert told.endswith(", which is read; another file is expected")
    assert contents(out.parent) == before


@pytest.mark.parametrize("read", ["case", "table", "weather", "load"])
def test_a_table_is_not_written_over_what_it_is_made_from(read, files, capsys, monkeypatch):
    monkeypatch.chdir(files["case"].parent)
    before = contents(files["case"].parent)
    told = refused_in_one_line(capsys, *call("predict", files, Path(files[read].name)))
    assert "is the same file as" in told
    assert contents(files["case"].parent) == before


@pytest.mark.parametrize("other", OTHERS)
@pytest.mark.parametrize("command", WRITERS)
def test_no_command_writes_over_a_case(command, other, files, capsys):
    case = files["case"].with_name(other)
    case.write_text(OTHERS[other], encoding="utf-8")
    out = linked(case, f"out{WRITERS[command][0]}", "symbolic")
    before = contents(out.parent)
    told = refused_in_one_line(capsys, *call(command, files, out))
    assert told == f"coiltoll: -o: {out} is a case file and would be lost; another file is expected"
    assert contents(out.parent) == before


def test_other_files_and_new_ones_are_written(files):
    case, old = read_case(files["case"]), files["case"].with_name("out.csv")
    old.write_text("of before\n", encoding="utf-8")
    for output in (None, old, old.with_name("new.csv"), Path(os.devnull)):
        arguments.check_output(output, [files["table"], None, Path(os.devnull)], case)
