"""Careless and hostile files: a sentence and status 2, soon and in little memory, and nothing is written.

A longer search for files that break this is `make fuzz`.
"""

import ast
import csv
import io
import json
import random
import tracemalloc
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.case.errors import CaseError
from calibration.files.log_file import read_log
from calibration.files.visit_table import guessed_keys, read_visit_table, visit_entries
from calibration.files.weather_file import read_weather
from dashboard.cli import COMMANDS, run
from dashboard.texts.language_file import read_language
from tests.clean_visits import case_of_clean_visits
from tests.fuzz.hostile_files import (
    CONDITIONS,
    DEMO,
    LOG,
    TABLE,
    case_files,
    condition_tables,
    logs,
    parquet,
    parquet_logs,
    visit_tables,
    without_form,
    write_huge_table,
)
from tests.fuzz.mutations import mutated
from tests.fuzz.trial import MOST_CALLS, Ending, counted_calls, ending

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("model", "calibration", "dashboard")
NOT_OF_A_CASE = {"steady-state", "study", "demo", "app", "report", "fleet", "plan"}
OF_A_CASE = [name for name in COMMANDS if name not in NOT_OF_A_CASE]


@pytest.fixture(scope="module", autouse=True)
def warm():
    """Import what the commands need beforehand, so that the calls of a refusal are its own."""
    assert run(["compare", str(ROOT / "cases" / "demo.toml"), "--json"]) == 0
    import pandas  # noqa: F401


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "good.toml").write_text(DEMO, encoding="utf-8")
    return tmp_path


def put(folder: Path, content: bytes) -> str:
    path = folder / "x.csv"
    path.write_bytes(content)
    return str(path)


def conditions_words(folder: Path, given: str) -> list[str]:
    """The command that predicts a table of conditions with the good case."""
    return [
        "predict",
        str(folder / "good.toml"),
        "--conditions",
        given,
        "-o",
        str(folder / "out.csv"),
    ]


def assert_refused(end: Ending) -> None:
    assert (end.status, end.problems()) == (2, [])


CASES = without_form() | case_files()
READ_AS_A_CASE = {"direction marks", "no visit", "cut after line 45", "cut after line 81"}


@pytest.mark.parametrize("name", CASES)
def test_a_file_that_is_no_case_is_refused_or_harmless(name, folder):
    end = ending(["measure", put(folder, CASES[name])], folder)
    assert end.problems() == []
    if name in without_form() and name not in READ_AS_A_CASE:
        assert end.status == 2


@pytest.mark.parametrize("command", OF_A_CASE)
@pytest.mark.parametrize(
    "name", ["all bytes", "table in table", "map of nonsense", "systems swapped", "weather that is a device"]
)
def test_every_command_refuses_alike(name, command, folder):
    end = ending([command, put(folder, CASES[name])], folder)
    assert end.problems() == []
    if name in {"all bytes", "table in table", "systems swapped"}:
        assert end.status == 2


@pytest.mark.parametrize("name", [*without_form(), *condition_tables()])
def test_a_table_of_conditions_out_of_order_is_refused(name, folder):
    content = (without_form() | condition_tables())[name]
    assert_refused(ending(conditions_words(folder, put(folder, content)), folder))


@pytest.mark.parametrize("name", [*without_form(), *logs()])
def test_a_log_out_of_order_is_refused_and_the_case_stays(name, folder):
    content = (without_form() | logs())[name]
    end = ending(["steady-state", put(folder, content), "--into", str(folder / "good.toml")], folder)
    assert end.problems() == []
    assert end.status == 2 or name == "giant field"


LEFT_TO_THE_TRACK = {"1000000000 rows, it says", "4611686018427387904 rows, it says", "thousand columns"}
"""Files from which all rows that there are can be read: too few days."""
PARQUET_LOGS = parquet_logs()


@pytest.mark.parametrize("name", PARQUET_LOGS)
def test_a_log_in_parquet_out_of_order_is_refused_by_name_and_the_case_stays(name, folder):
    case, given = folder / "good.toml", put(folder, PARQUET_LOGS[name])
    end = ending(["track", str(case), given, "--into", str(case)], folder)
    assert_refused(end)
    if name in LEFT_TO_THE_TRACK:
        assert "steady stretches lie on 1 day; 5 are needed" in end.err
    else:
        assert end.err.startswith(f"coiltoll: {given}: ") and end.err.count("\n") == 1
        assert "cannot be true" not in end.err


def test_a_column_that_unpacks_without_end_is_refused(folder, monkeypatch):
    given = put(folder, parquet())
    monkeypatch.setattr("calibration.track.log_pieces.LARGEST_CHUNK", 1000)
    end = ending(["track", str(folder / "good.toml"), given], folder)
    assert_refused(end)
    assert "'time' has " in end.err and "in one row group; at most 1000 are expected" in end.err


@pytest.mark.parametrize("ending_of_name", [".csv", ".xlsx"])
@pytest.mark.parametrize("name", [*without_form(), *visit_tables()])
def test_a_table_of_visits_out_of_order_is_refused_or_read_as_text(name, ending_of_name):
    content = (without_form() | visit_tables())[name]
    try:
        table = read_visit_table(content, f"x{ending_of_name}")
    except CaseError as error:
        assert str(error).startswith(f"x{ending_of_name}: ")
    else:
        assert ending_of_name == ".csv"
        visit_entries(table, guessed_keys(table), "US")


@pytest.mark.parametrize(
    ("kind", "text"),
    [("steady-state", LOG), ("steady-state", "time,outdoor_db\n1,2\n"), ("predict", CONDITIONS)],
)
def test_ten_million_rows_are_refused_without_being_read(kind, text, folder):
    """Ten million rows cost no more calls and no more memory to refuse than five million."""
    path, half = (
        str(write_huge_table(folder / f"{rows}.csv", text, rows)) for rows in (10_000_000, 5_000_000)
    )
    good = str(folder / "good.toml")

    def refused(given):
        words = {
            "steady-state": ["steady-state", given],
            "predict": ["predict", good, "--conditions", given, "-o", given + "2"],
        }[kind]
        tracemalloc.start()
        try:
            end = ending(words, folder)
            return end, tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    (first, least), (end, peak) = refused(half), refused(path)
    for one in (first, end):
        assert_refused(one)
        assert "rows" in one.err or "bytes" in one.err
    assert end.calls <= 1.1 * first.calls + 1000
    assert peak <= 1.1 * least + 1e6


MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
SHEET = f"<worksheet {MAIN}><sheetData>{{}}</sheetData></worksheet>"
TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"


@pytest.mark.parametrize("name", without_form())
def test_a_language_file_out_of_order_is_refused(name, tmp_path):
    path = tmp_path / "x.po"
    path.write_bytes(without_form()[name])
    with pytest.raises(ValueError, match=r"x\.po: "):
        read_language(path)


def spreadsheet(rows: str, strings: str) -> bytes:
    """A spreadsheet of one sheet with these rows and shared strings, as they are written inside the file."""
    from openpyxl import Workbook

    plain, made = io.BytesIO(), io.BytesIO()
    Workbook().save(plain)
    part = f'<Override PartName="/xl/sharedStrings.xml" ContentType="{TYPE}"/></Types>'
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            content = old.read(name)
            if name.endswith("sheet1.xml"):
                content = SHEET.format(rows).encode()
            elif name == "[Content_Types].xml":
                content = content.replace(b"</Types>", part.encode())
            new.writestr(name, content)
        new.writestr("xl/sharedStrings.xml", strings)
    return made.getvalue()


ROWS = (
    '<row r="1"><c t="s"><v>0</v></c><c t="s"><v>1</v></c></row>'
    '<row r="2"><c><v>95</v></c><c t="s"><v>2</v></c></row>'
)
STRINGS = '<?xml version="1.0"?>{}' + f"<sst {MAIN}>{{}}</sst>"


def test_a_spreadsheet_made_by_hand_is_read():
    cells = "".join(f"<si><t>{text}</t></si>" for text in ("outdoor_db", "note", "text"))
    table = read_visit_table(spreadsheet(ROWS, STRINGS.format("", cells)), "x.xlsx")
    assert (table.headers, table.rows) == (("outdoor_db", "note"), (("95", "text"),))


def test_a_spreadsheet_that_unpacks_without_end_is_refused():
    content = spreadsheet(ROWS, STRINGS.format("", " " * 100_000_000))
    assert len(content) < 1_000_000
    with pytest.raises(CaseError, match="unpacks to far more"):
        read_visit_table(content, "bomb.xlsx")


def test_a_spreadsheet_whose_entities_feed_on_each_other_is_refused():
    """Ten entities of ten of the next: a thousand million characters if they were ever written out."""
    entities = "".join(f'<!ENTITY e{i + 1} "{f"&e{i};" * 10}">' for i in range(10))
    content = spreadsheet(
        ROWS, STRINGS.format(f'<!DOCTYPE sst [<!ENTITY e0 "x">{entities}]>', "<si><t>&e10;</t></si>" * 3)
    )
    with pytest.raises(CaseError, match="cannot be read as a spreadsheet"):
        read_visit_table(content, "bad.xlsx")


def test_a_spreadsheet_that_names_other_files_does_not_get_them(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("secret", encoding="utf-8")
    content = spreadsheet(
        ROWS,
        STRINGS.format(
            f'<!DOCTYPE sst [<!ENTITY e SYSTEM "{secret.as_uri()}">]>', "<si><t>a&e;</t></si>" * 3
        ),
    )
    try:
        table = read_visit_table(content, "x.xlsx")
    except CaseError:
        return
    assert "secret" not in str(table)


def test_a_sheet_of_too_many_cells_is_refused():
    row = "".join("<c><v>1</v></c>" for _ in range(300))
    rows = "".join(f'<row r="{number}">{row}</row>' for number in range(1, 400))
    with pytest.raises(CaseError, match="has more than 50000 cells"):
        read_visit_table(spreadsheet(rows, STRINGS.format("", "")), "wide.xlsx")


@given(st.binary(max_size=400), st.sampled_from(["measure", "conditions", "steady-state"]))
@settings(derandomize=True, deadline=None, max_examples=60)
def test_random_bytes_are_refused(tmp_path_factory, content, reader):
    folder = tmp_path_factory.mktemp("random")
    (folder / "good.toml").write_text(DEMO, encoding="utf-8")
    given = put(folder, content)
    words = {
        "measure": ["measure", given],
        "conditions": conditions_words(folder, given),
        "steady-state": ["steady-state", given],
    }[reader]
    assert_refused(ending(words, folder))


@given(st.binary(max_size=400), st.sampled_from(["x.csv", "x.xlsx"]))
@settings(derandomize=True, deadline=None, max_examples=60)
def test_random_bytes_are_no_table_of_visits_or_harmless_text(content, name):
    try:
        table = read_visit_table(content, name)
    except CaseError:
        return
    visit_entries(table, guessed_keys(table), "US")


TEXTS = {"case": DEMO, "conditions": CONDITIONS, "log": LOG, "table": TABLE}


@given(st.integers(0, 10**9), st.sampled_from(["case", "case", "conditions", "log"]))
@settings(derandomize=True, deadline=None, max_examples=60)
def test_damaged_files_are_read_or_refused(tmp_path_factory, seed, kind):
    folder = tmp_path_factory.mktemp("damaged")
    (folder / "good.toml").write_text(DEMO, encoding="utf-8")
    given = put(folder, mutated(TEXTS[kind], random.Random(seed)))
    words = {
        "case": (["calibrate", given], ["measure", given], ["measure", given, "--figures-only"])[seed % 3],
        "conditions": conditions_words(folder, given),
        "log": ["steady-state", given, "--into", str(folder / "good.toml")],
    }[kind]
    assert ending(words, folder).problems() == []


def test_dates_of_five_kinds_are_the_same_day_in_a_log(tmp_path):
    forms = {
        "US": [
            "2026-05-14 13:{:02d}:00",
            "05/14/2026 13:{:02d}",
            "05/14/2026 01:{:02d} PM",
            "5/14/26 13:{:02d}",
        ],
        "SI": ["2026-05-14T13:{:02d}:00Z", "14.05.2026 13:{:02d}", "14/05/2026 13:{:02d}"],
    }
    for system, written in forms.items():
        for form in written:
            path = tmp_path / "log.csv"
            rows = "".join(f"{form.format(i)},95\n" for i in range(30))
            path.write_text(f"time,outdoor_db\n{rows}", encoding="utf-8")
            log = read_log(path, system)
            assert (log.start.isoformat(), log.seconds[-1]) == ("2026-05-14T13:00:00", 29 * 60.0), form


def test_dates_of_five_kinds_are_the_same_day_in_a_table_of_visits():
    for written in ("2026-05-14", "05/14/2026", "14.05.2026", "May 14, 2026", "14 May 2026"):
        table = read_visit_table(f'date,outdoor_db\n"{written}",95\n'.encode(), "x.csv")
        (visit,) = visit_entries(table, guessed_keys(table), "US")
        assert visit["date"] == "2026-05-14", written


FORMULAS = [
    "=cmd|'/C calc'!A0",
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "\t=1+1",
    "=1+1",
    "\uff1d1+1",
    "\uff0b1",
    "\uff20x",
]


@pytest.mark.parametrize("cell", FORMULAS)
def test_formulas_come_out_as_text(cell, folder):
    given = folder / "given.csv"
    with given.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([["outdoor_db", "return_db", "return_wb", cell], [95, 80, 67, cell]])
    out = folder / "out.csv"
    words = ["predict", str(folder / "good.toml"), "--conditions", str(given), "-o", str(out)]
    assert ending(words, folder).status == 0
    with out.open(encoding="utf-8", newline="") as file:
        for row in csv.reader(file):
            assert not any(one.startswith(("=", "+", "@", "\t")) for one in row)
            assert cell.strip() not in row
    assert "'" + cell.strip() in out.read_text(encoding="utf-8")


@pytest.mark.usefixtures("few_draws")
def test_names_of_units_are_text_in_the_report_and_lead_to_no_other_place(folder):
    name = '../../etc/x <script>alert(1)</script> #panic() $x$ \\ " %s $(id); DROP'
    text = DEMO.replace('"Millbrook Street reading room"', json.dumps(name))
    (folder / "named.toml").write_text(text, encoding="utf-8")
    for kind in ("html", "pdf"):
        end = ending(["report", str(folder / "named.toml"), "-o", str(folder / f"out.{kind}")], folder)
        assert (end.status, end.problems(), end.left) == (0, [], {f"out.{kind}"})
    page = (folder / "out.html").read_text(encoding="utf-8")
    assert "<script" not in page
    assert "&lt;script&gt;" in page


def test_names_of_files_in_a_case_lead_to_no_device_and_no_network(folder):
    for weather in (
        "/dev/zero",
        "http://localhost/a.epw",
        "../../etc/passwd",
        "x" * 5000 + ".epw",
        "a\\nb.csv",
    ):
        text = DEMO.replace('weather = "bins"', f"weather = {json.dumps(weather)}")
        end = ending(["measure", put(folder, text.encode()), "--figures-only"], folder)
        assert end.problems() == []
        with pytest.raises(ValueError):
            read_weather(folder / weather)


def test_a_nameplate_beside_the_readings_is_refused_before_anything_is_solved(folder, monkeypatch):
    def solved(*arguments, **options):
        raise AssertionError("the cycle was solved")

    monkeypatch.setattr("model.cycle.batch_newton.solve", solved)
    for old, new in (
        ("rated_capacity = 35000", "rated_capacity = 350000"),
        ("altitude = 720", "altitude = 720\nlow_pressure_limit = 160"),
    ):
        for command in OF_A_CASE:
            assert_refused(ending([command, put(folder, DEMO.replace(old, new).encode())], folder))


def test_a_nameplate_that_no_reading_contradicts_is_fitted_in_bounded_work(folder):
    """Without power and airflow nothing shows the size; no point of such a unit has a solution."""
    lines = [line for line in DEMO.splitlines() if "_power = " not in line and "airflow = " not in line]
    text = "\n".join(lines).replace("rated_capacity = 35000", "rated_capacity = 350000")
    end = ending(["calibrate", put(folder, text.encode())], folder)
    assert end.problems() == []
    assert end.calls < MOST_CALLS


@pytest.mark.usefixtures("worked_out_anew")
def test_measuring_twice_as_many_visits_more_is_twice_the_work(folder):
    made = []
    for count in (3, 4, 6):
        with counted_calls() as calls:
            assert run(["measure", case_of_clean_visits(folder, count), "--json"]) == 0
        made.append(calls[0])
    first, second, third = made
    assert third - second < 2.3 * (second - first)


@pytest.mark.parametrize("cell", ["\r=1+1", "\n=1+1", "\r\n@x"])
def test_a_cell_that_begins_with_a_line_end_is_text(cell, folder):
    given, out = folder / "given.csv", folder / "out.csv"
    with given.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([["outdoor_db", "return_db", "return_wb", "note"], [95, 80, 67, cell]])
    words = ["predict", str(folder / "good.toml"), "--conditions", str(given), "-o", str(out)]
    assert ending(words, folder).status == 0
    with out.open(encoding="utf-8", newline="") as file:
        assert list(csv.reader(file))[1][3] == "'\n" + cell.strip()


def test_more_shares_than_a_table_can_hold_and_a_day_beyond_all_units_are_refused(folder, monkeypatch):
    good = str(folder / "good.toml")
    shares = ",".join(f"{0.01 * number:.2f}" for number in range(9501))
    assert_refused(ending(["predict", good, "--blocked", shares], folder))
    end = ending(["season", good, "--today", "9999-12-31"], folder)
    assert_refused(end)
    assert "7973 years after 2026-08-12" in end.err


def test_nothing_reads_code_from_data_or_starts_a_program():
    """No pickle, eval, exec or shell; YAML and XML with entities are not read either."""
    modules = {"pickle", "dill", "shelve", "marshal", "subprocess", "pty", "yaml", "joblib", "code", "runpy"}
    calls = {"eval", "exec", "compile", "__import__"}
    methods = {"system", "popen", "spawnv", "execv", "read_pickle"}
    for path in sorted(one for package in PACKAGES for one in (ROOT / package).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            match node:
                case ast.Import():
                    names = {alias.name.split(".")[0] for alias in node.names}
                case ast.ImportFrom():
                    names = {(node.module or "").split(".")[0]}
                case ast.Call(func=ast.Name(id=name)):
                    names = {name} & calls
                case ast.Call(func=ast.Attribute(value=ast.Name(id="os" | "pd" | "np"), attr=name)):
                    names = {name} & methods
                case ast.keyword(arg="allow_pickle" | "shell", value=ast.Constant(value=True)):
                    names = modules
                case _:
                    continue
            assert not names & (modules | calls | methods), f"{path}:{getattr(node, 'lineno', 0)}: {names}"
