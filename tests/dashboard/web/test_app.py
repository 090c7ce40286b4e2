"""Every page of the app without a browser: what it shows is what the command line prints, nothing is lost."""

import re
import socket
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from calibration.case.file import parse_case, read_case, write_case
from calibration.measured.performance import measured_performance
from dashboard.results.figures import Figure
from dashboard.results.suspect_readings import performance_beside_supported, readings_beside_supported
from dashboard.web import settings as page_settings
from dashboard.web.page_list import (
    ANSWERS,
    BELIEF,
    EDIT,
    EVERY,
    FOULING,
    IMPORT,
    KEEPING,
    MATCH,
    MEASURED,
    REPORT,
    SEASON,
    SHORT,
    UNITS,
    Question,
)
from dashboard.web.server import SAY_WHERE, first_document
from dashboard.web.settings import SETTINGS, WORKSPACE_VARIABLE
from dashboard.workspace import Workspace
from tests.calibration.files.test_photo import taken
from tests.calibration.files.test_weather_file import epw_lines
from tests.calibration.two_circuits import two_circuits
from tests.conftest import HANGING
from tests.dashboard.command import in_json, refused_in_one_line
from tests.dashboard.demo_findings import demo_case, found, visits
from tests.dashboard.web.drawn_pages import SCRIPT, drawn

ROOT = Path(__file__).resolve().parents[3]
DEMO = ROOT / "cases" / "demo.toml"


@pytest.fixture
def folder(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv(WORKSPACE_VARIABLE, str(tmp_path / "units"))
    return tmp_path / "units"


@pytest.fixture
def app(folder) -> AppTest:
    return AppTest.from_file(str(SCRIPT), default_timeout=HANGING).run()


@pytest.fixture
def demo(app) -> AppTest:
    return app.button(key="open_demo").click().run()


def texts(app: AppTest) -> str:
    """Everything that is written on the page, without marks."""
    raw = " ".join(str(element.proto.body) for element in app.get("html"))
    written = [
        element.value for kind in (app.title, app.subheader, app.markdown, app.caption) for element in kind
    ]
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", raw)) + " ".join(written))


def raw(app: AppTest) -> str:
    """Everything that is written on the page in HTML."""
    return " ".join(str(element.proto.body) for element in app.get("html"))


def cells(app: AppTest) -> list[list[str]]:
    """Rows of all tables on the page, number and interval of a cell parted by a blank."""
    raw = " ".join(str(element.proto.body) for element in app.get("html"))
    return [
        [
            unescape(re.sub(r"<[^>]+>", " ", cell)).split("[")[0].strip()
            for cell in re.findall(r"<t[hd].*?>(.*?)</t[hd]>", row)
        ]
        for row in re.findall(r"<tr>(.*?)</tr>", raw)
    ]


def test_the_demo_is_one_click_away(demo):
    assert not demo.exception
    assert demo.title[0].value == "In short"
    assert "invented demo" in texts(demo)
    assert "Fouled condenser coil, " in texts(demo)
    for asked in ("What it costs", "What to do", "What to read next"):
        assert asked in texts(demo)


@pytest.mark.parametrize("question", EVERY, ids=lambda one: one.address or "start")
def test_every_page_draws_with_the_demo_open(question):
    page = drawn(question, demo_open=True)
    assert not page.exception
    assert page.title
    assert not page.error
    if question in (SHORT, MATCH, FOULING, SEASON):
        assert "EPA Section 608" in texts(page), "what sends somebody to a unit comes with its cautions"


@pytest.mark.parametrize("question", EVERY, ids=lambda one: one.address or "start")
def test_every_page_draws_with_nothing_open(question):
    page = drawn(question, demo_open=False)
    assert not page.exception
    if question in ANSWERS:
        assert "No unit is open" in texts(page)


def page_of(folder: Path, name: str, question: Question) -> AppTest:
    """A page about the demo's unit at one of the changed visits."""
    folder.mkdir(exist_ok=True)
    visit = visits()[name]
    others = tuple(one for one in demo_case().clean_visits if one.label != visit.label)
    write_case(replace(demo_case(), visits=(*others, visit), source=None), folder / "later.toml")
    page = AppTest.from_file(str(SCRIPT), default_timeout=HANGING)
    page.query_params["unit"] = "later.toml"
    page = page.run().switch_page(question.file).run()
    assert not page.exception
    return page


@pytest.mark.parametrize("question", ANSWERS, ids=lambda question: question.file)
def test_pages_say_what_they_do_not_take_of_several_circuits(folder, question):
    folder.mkdir()
    write_case(two_circuits(demo_case()), folder / "two.toml")
    page = AppTest.from_file(str(SCRIPT), default_timeout=HANGING)
    page.query_params["unit"] = "two.toml"
    page = page.run().switch_page(question.file).run()
    assert not page.exception
    assert "The pages work out units of one circuit" in texts(page)


@pytest.mark.parametrize(
    ("name", "verdict"),
    [
        ("nothing fits", "No fault on the list fits"),
        ("nothing wrong", "No fault found"),
        ("open", "Inconclusive"),
    ],
)
def test_no_loss_is_shown_of_a_fault_that_is_not_claimed(folder, name, verdict):
    page = page_of(folder, name, SHORT)
    assert verdict in texts(page)
    assert "is lost today" not in texts(page)
    assert ('class="ct-finding good"' in raw(page)) == (name == "nothing wrong")
    page = page_of(folder, name, MATCH)
    assert ("If it is" in texts(page)) == (name == "open")


@pytest.mark.parametrize("question", [SHORT, BELIEF, MATCH], ids=lambda one: one.address)
def test_no_page_shows_a_suspect_figure_that_is_not_struck_through(folder, question):
    finding = found("supply and suction pipe wrong")
    assert {one.reading for one in finding.suspects} == {"supply_db", "suction_temperature"}
    page = page_of(folder, "supply and suction pipe wrong", question)
    struck = re.findall(r"<s[^>]*>([^<]*)</s>", raw(page))
    assert struck
    tables = re.sub(r"<s[^>]*>[^<]*</s>", "", " ".join(re.findall(r"<t[hd].*?</t[hd]>", raw(page))))
    tiles = " ".join(re.findall(r'<div class="v">([^<]*)', raw(page)))
    for one in readings_beside_supported(finding.visit, finding, "US"):
        if one.supported is not None:
            assert one.text not in tables + tiles
            if question is not SHORT:
                assert one.text in struck and one.supported.text in tables
    (superheat,) = [one for one in performance(finding) if one.key == "superheat"]
    if question is SHORT:
        assert superheat.text in struck and superheat.supported.text in tiles
    assert superheat.text not in tables + tiles


def performance(finding) -> list[Figure]:
    """Measured performance of a visit, what a suspect reading changes beside what the others support."""
    unit, meters = demo_case().unit, demo_case().instruments
    as_read, as_supported = (
        measured_performance(visit, unit, meters) for visit in (finding.visit, finding.visit_as_supported)
    )
    return performance_beside_supported(as_read, as_supported, "US")


def test_the_three_pages_of_the_finding_say_what_match_says(capsys):
    (told,) = in_json(capsys, "match", str(DEMO))["matches"]
    short, match = (texts(drawn(page, demo_open=True)) for page in (SHORT, MATCH))
    assert told["sentences"][0] in short
    for sentence in told["sentences"]:
        assert sentence in match.replace("\\", "")
    check = in_json(capsys, "measure", str(DEMO))["visits"][-1]["check"]
    believed = texts(drawn(BELIEF, demo_open=True))
    for sentence in check["sentences"]:
        assert sentence in believed


def test_the_result_is_there_as_text_and_its_charts_and_tables_as_files():
    page = drawn(MATCH, demo_open=True)
    assert not page.exception
    (text,) = (one.value for one in page.code)
    name, verdict, *_ = text.splitlines()
    assert name == "Millbrook Street reading room"
    assert verdict in texts(page).replace("\u00a0", " ")
    assert "Expected beside measured" in page.session_state["page_outputs"].sheets
    labels = [one.proto.label for one in page.get("download_button")]
    assert sum(one.endswith(": SVG") for one in labels) == sum(one.endswith(": PNG") for one in labels) == 3


def test_measured_figures_are_those_of_the_command_line(capsys):
    rows = {row[0]: row for row in reversed(cells(drawn(MEASURED, demo_open=True)))}
    told = in_json(capsys, "measure", str(DEMO))["visits"]
    for name, words, digits in (
        ("superheat", "Superheat", 1),
        ("net_capacity", "Capacity, net of the blower", 0),
    ):
        for place, visit in enumerate(told, start=1):
            one = visit["figures"][name]
            shown = f"{one['value']:,.{digits}f} {one['low']:,.{digits}f} to {one['high']:,.{digits}f}"
            assert re.sub(r"\s+", " ", rows[words][place]) == shown


def test_readings_beside_what_is_expected_are_those_of_the_command_line(capsys):
    page = drawn(MATCH, demo_open=True)
    (told,) = in_json(capsys, "match", str(DEMO))["matches"]
    rows = {row[0]: row for row in cells(page)}
    reading = told["readings"]["liquid_pressure"]
    expected = [f"{reading[name]:.1f}" for name in ("measured", "clean", "first", "second")]
    assert [one.split()[0] for one in rows["Liquid-line pressure"][1:5]] == expected
    assert rows["Liquid-line pressure"][5] == f"{reading['standard_errors']:+.1f}"


def test_the_slider_says_what_predict_says(demo, capsys):
    page = demo.switch_page(FOULING.file).run()
    slider = next(one for one in page.slider if one.label.startswith("Condenser face blocked"))
    page = slider.set_value(35).run()
    assert not page.exception
    numbers = in_json(capsys, "predict", str(DEMO), "--blocked", "35")
    for sentence in numbers["trip"]["sentences"]:
        assert sentence in texts(page)
    (told,) = numbers["levels"]
    rows = {row[0]: row for row in cells(page)}
    change = told["changes"]["eer_change"]
    shown = re.sub(r"\s+", " ", rows["Change of EER"][1])
    assert shown == f"{change['value']:.1f} {change['low']:.1f} to {change['high']:.1f}"
    figure = told["figures"]["liquid_pressure"]
    assert rows["Liquid-line pressure"][2].startswith(f"{figure['value']:.1f}")


def test_the_slider_follows_the_weather_that_is_asked_for(demo, capsys):
    page = demo.switch_page(FOULING.file).run()
    blocked, outdoor = page.slider[0], page.slider[1]
    assert outdoor.label == "Outdoor air, dry bulb [degF]" and outdoor.value == 94.8
    blocked.set_value(20)
    page = outdoor.set_value(104.8).run()
    told = in_json(capsys, "predict", str(DEMO), "--blocked", "20", "--outdoor-db", "104.8")["levels"][0]
    rows = {row[0]: row for row in cells(page)}
    assert rows["EER"][2].startswith(f"{told['figures']['eer']['value']:.2f}")


def test_the_switch_of_units_changes_every_number(demo, capsys):
    page = demo.switch_page(MEASURED.file).run()
    page = page.segmented_control(key="system_switch").set_value("SI").run()
    told = in_json(capsys, "measure", str(DEMO), "--units", "SI")["visits"][0]["figures"]["superheat"]
    rows = {row[0]: row for row in cells(page)}
    assert rows["Superheat"][1].startswith(f"{told['value']:.2f}")


READINGS = {
    "outdoor_db": ("82.4", "94.8"), "return_db": ("76.1", "77.9"), "return_wb": ("63.6", "65.2"),
    "suction_pressure": ("132", "139"), "liquid_pressure": ("333", "437"),
    "suction_temperature": ("64", "68.3"), "liquid_temperature": ("91.8", "113"),
    "outdoor_power": ("2211", "2707"),
}  # fmt: skip


def fill(page: AppTest, label: str, text: str) -> None:
    matches = [one for one in page.text_input if one.label.startswith(label)]
    assert matches, f"no field {label!r}: {[one.label for one in page.text_input]}"
    matches[0].set_value(text)


def fill_in(page: AppTest, name: str) -> AppTest:
    from calibration.case.keys import find_key

    fill(page, "Name of the unit", name)
    fill(page, "Rated capacity", "35,000")
    for reading, pair in READINGS.items():
        for words, text in zip(("coil clean", "as found"), pair, strict=True):
            fill(page, f"{find_key(reading, 'visit').label('US')}, {words}", text)
    return page.run()


def test_one_form_leads_to_a_result(app, folder):
    page = app.button(key="open_form").click().run()
    assert page.title[0].value == "Enter your unit"
    page = fill_in(page, "North wing")
    page = page.button(key="save").click().run()
    assert not page.exception
    assert page.title[0].value == "In short"
    assert re.search(r"(, (over )?\d+ %\.|Inconclusive: )", texts(page))
    case = read_case(folder / "north-wing.toml")
    assert [visit.coil for visit in case.visits] == ["clean", "as found"]
    assert "North wing" in texts(page)


def test_a_wrong_entry_is_said_beside_its_field_and_nothing_is_written(app, folder):
    page = app.button(key="open_form").click().run()
    fill(page, "Rated capacity", "35")
    page = page.run()
    assert "Is 35 Btu/h; 3000 to 2,000,000 Btu/h is expected (35 looks like thousand Btu/h or kW)." in texts(
        page
    )
    assert "Not saved" not in texts(page)
    page = page.button(key="save").click().run()
    assert "Not saved. Please fix 2 entries:" in texts(page)
    assert "“Name of the unit”" not in texts(
        page
    ) and "Name of the unit: is missing; text is expected" in texts(page)
    assert not list(folder.glob("*.toml"))
    assert next(one for one in page.text_input if one.label.startswith("Rated capacity")).value == "35"


def test_what_is_unusual_is_asked_about(app):
    page = app.button(key="open_form").click().run()
    fill(page, "Outdoor air, dry bulb [degF], as found", "40")
    assert "Unusual (usually 55 to 125): please check" in texts(page.run())


def test_typed_numbers_survive_us_si_us(app):
    page = fill_in(app.button(key="open_form").click().run(), "x")
    before = {one.label: one.value for one in page.text_input}
    page = page.segmented_control(key="system_switch").set_value("SI").run()
    pressure = next(one for one in page.text_input if one.label == "Suction pressure [kPa], as found")
    assert float(pressure.value) == pytest.approx(139 * 6.894757, rel=1e-4)
    page = page.segmented_control(key="system_switch").set_value("US").run()
    assert {one.label: one.value for one in page.text_input} == before


def kept(app: AppTest) -> AppTest:
    page = app.switch_page(EDIT.file).run()
    return page.button(key="copy_demo").click().run()


def test_the_demo_is_copied_before_it_is_changed(demo, folder):
    before = DEMO.read_bytes()
    page = kept(demo)
    assert not page.exception
    assert [entry.title for entry in Workspace(folder).entries()] == ["Millbrook Street reading room (copy)"]
    assert "Everything is saved." in texts(page)
    fill(page, "Notes", "typed here")
    page = page.run()
    assert "1 unsaved change" in texts(page)
    page = page.button(key="save").click().run()
    assert not page.exception and "Everything is saved." in texts(page)
    (entry,) = Workspace(folder).entries()
    assert read_case(folder / entry.name).visits[-1].notes == "typed here"
    assert DEMO.read_bytes() == before


def test_visits_are_added_and_taken_out_on_the_page(demo, folder):
    page = kept(demo)
    page = page.button(key="add_visit").click().run()
    third = {
        "Label": "third",
        "Outdoor air, dry bulb": "90",
        "Return air, dry bulb": "76",
        "Return air, wet bulb": "63",
        "Suction pressure": "135",
        "Liquid-line": "380",
    }
    for label, text in third.items():
        fill(page, label, text)
    page = page.run().button(key="save").click().run()
    (entry,) = Workspace(folder).entries()
    assert [visit.label for visit in read_case(folder / entry.name).visits][-1] == "third"
    page = page.button(key="drop_visit").click().run()
    page.button(key="save").click().run()
    assert len(read_case(folder / entry.name).visits) == 2


def test_two_tabs_never_overwrite_each_other_silently(demo, folder):
    first = kept(demo)
    (entry,) = Workspace(folder).entries()
    second = AppTest.from_file(str(SCRIPT), default_timeout=HANGING)
    second.query_params["unit"] = entry.name
    second = second.run().switch_page(EDIT.file).run()
    fill(first, "Notes", "from the first")
    first = first.run().button(key="save").click().run()
    fill(second, "Discharge pipe", "181")
    second = second.run()
    second = second.button(key="save").click().run()
    assert not second.exception
    assert any("This unit was also saved elsewhere" in one.value for one in second.warning)
    assert read_case(folder / entry.name).visits[-1].notes == "from the first"
    second = second.button(key="merge").click().run()
    second = second.button(key="save").click().run()
    saved = read_case(folder / entry.name).visits[-1]
    assert saved.notes == "from the first"
    assert saved.discharge_temperature == pytest.approx((181 - 32) / 1.8 + 273.15)


def test_a_draft_is_not_put_into_another_unit_of_its_file(demo, folder):
    page = kept(demo)
    (entry,) = Workspace(folder).entries()
    other = Workspace(folder).duplicate(entry.name)
    fill(page, "Notes", "of the former unit")
    page = page.run()
    (folder / entry.name).write_bytes((folder / other.name).read_bytes().replace(b"82.4", b"82.5"))
    before = (folder / entry.name).read_bytes()
    page = page.button(key="save").click().run()
    assert not page.exception
    assert any("holds another unit now" in one.value for one in page.warning)
    keys = [button.key for button in page.button]
    assert "merge" not in keys and "take_theirs" in keys
    assert (folder / entry.name).read_bytes() == before
    page.button(key="keep_mine").click().run()
    assert (folder / entry.name).read_bytes() == before
    notes = {one.name: read_case(folder / one.name).visits[-1].notes for one in Workspace(folder).entries()}
    assert [name for name, text in notes.items() if text == "of the former unit"] == [
        name for name in notes if name not in (entry.name, other.name)
    ]
    assert len(notes) == 3


def another_tab(unit: str = "") -> AppTest:
    app = AppTest.from_file(str(SCRIPT), default_timeout=HANGING)
    if unit:
        app.query_params["unit"] = unit
    return app.run().switch_page(EDIT.file).run()


def value(page: AppTest, label: str) -> str:
    return next(one.value for one in page.text_input if one.label.startswith(label))


def test_what_was_typed_is_there_in_another_tab_until_it_is_saved(app, folder):
    page = fill_in(app.button(key="open_form").click().run(), "Half typed")
    assert "kept as a draft" in texts(page)
    other = another_tab()
    assert not other.exception
    assert value(other, "Name of the unit") == "Half typed"
    assert any("not saved is here again" in one.value for one in other.info)
    other.button(key="save").click().run()
    assert (folder / "half-typed.toml").exists()
    assert value(another_tab(), "Name of the unit") == ""


def test_a_draft_of_an_older_version_is_a_conflict_and_not_lost(demo, folder):
    page = kept(demo)
    (entry,) = Workspace(folder).entries()
    fill(page, "Notes", "typed and not saved")
    page.run()
    workspace = Workspace(folder)
    held = workspace.read(entry.name)
    workspace.save(held, replace(held.case, unit=replace(held.case.unit, site="elsewhere")))
    other = another_tab(entry.name)
    assert any("This unit was also saved elsewhere" in one.value for one in other.warning)
    assert value(other, "Notes") == "typed and not saved"
    other.button(key="merge").click().run().button(key="save").click().run()
    case = read_case(folder / entry.name)
    assert (case.unit.site, case.visits[-1].notes) == ("elsewhere", "typed and not saved")


def test_edits_removals_and_emptying_are_undone(demo, folder):
    page = kept(demo)
    before = value(page, "Suction pressure")
    fill(page, "Suction pressure", "1")
    page = page.run()
    fill(page, "Suction pressure", "120")
    page = page.run().button(key="undo").click().run()
    assert value(page, "Suction pressure") == before, "letters of one field are one change"
    page = page.button(key="drop_visit").click().run()
    assert value(page, "Suction pressure") != before
    page = page.button(key="undo").click().run()
    assert "Everything is saved." in texts(page)
    fill(page, "Suction pressure", "120")
    page = page.run().button(key="drop").click().run()
    assert value(page, "Suction pressure") == before
    page = page.button(key="undo").click().run()
    assert value(page, "Suction pressure") == "120"
    page = page.button(key="save").click().run().button(key="undo_save").click().run()
    assert not page.exception
    assert value(page, "Suction pressure") == before
    assert "Everything is saved." in texts(page)


def test_a_row_of_prices_is_moved_up(app, folder):
    text = DEMO.read_text()
    periods = "".join(f"[[season.tariff.periods]]\nprice = {price}\nmonths = [7]\n\n" for price in (0.2, 0.3))
    entry = Workspace(folder).create(parse_case(text.replace("[cleaning]", f"{periods}\n[cleaning]")))
    app.session_state["open_unit"] = entry.name
    page = app.run().switch_page(EDIT.file).run()
    page = page.segmented_control(key="part").set_value("Season and prices").run()
    (up,) = (one for one in page.button if one.label == "Move up")
    page = up.click().run().button(key="save").click().run()
    assert not page.exception
    assert [one.price for one in read_case(folder / entry.name).season.tariff.periods] == [0.3, 0.2]


def test_of_two_units_of_one_name_the_one_that_was_opened_stays_open(app, folder):
    workspace = Workspace(folder)
    names = [workspace.create(read_case(DEMO)).name for _ in range(2)]
    for name in names:
        app.session_state["open_unit"] = name
        page = app.run()
        chooser = next(one for one in page.selectbox if one.key == "unit_chooser")
        assert len(set(chooser.options)) == len(chooser.options)
        assert page.run().session_state["open_unit"] == name
        other = next(one for one in names if one != name)
        chosen = next(title for title in chooser.options if title.endswith(f"({other})"))
        assert chooser.select(chosen).run().session_state["open_unit"] == other


def test_the_draft_of_a_removed_unit_does_not_reach_the_next_of_its_name(app, folder):
    """Names in a script of their own, which once were all called `unit`."""
    page = app.button(key="open_form").click().run()
    page = fill_in(page, "北翼").button(key="save").click().run()
    assert (folder / "北翼.toml").exists()
    page = page.switch_page(EDIT.file).run()
    fill(page, "Notes", "of the removed unit")
    page = page.run()
    workspace = Workspace(folder)
    gone = workspace.read("北翼.toml")
    workspace.remove(gone.name, gone.version)
    following = workspace.create(gone.case)
    assert following.name == "北翼-2.toml"
    page = page.button(key="save").click().run()
    assert not page.exception
    assert workspace.version(following.name) == following.version
    assert [path.name for path in folder.glob("*.toml")] == [following.name]


def test_a_full_disk_keeps_what_was_typed(demo, folder, monkeypatch):
    page = kept(demo)
    fill(page, "Notes", "not lost")
    page = page.run()

    def full(handle):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr("os.fsync", full)
        page = page.button(key="save").click().run()
    assert not page.exception
    assert any("No space left on device" in one.value for one in page.error)
    assert next(one for one in page.text_input if one.label.startswith("Notes")).value == "not lost"
    page.button(key="save").click().run()
    (entry,) = Workspace(folder).entries()
    assert read_case(folder / entry.name).visits[-1].notes == "not lost"


@pytest.mark.usefixtures("few_draws")
def test_the_price_of_a_cleaning_is_asked_and_kept_where_it_counts(demo, folder):
    page = kept(demo).switch_page(SEASON.file).run()
    assert not page.exception
    (entry,) = Workspace(folder).entries()
    tiles = raw(page).count("ct-tile")
    page.text_input[0].set_value("99,50").run()
    assert not page.exception and raw(page).count("ct-tile") == tiles
    assert read_case(folder / entry.name).cleaning.price == 165.0, "asked, not stored"
    page = page.button(key="keep_price").click().run()
    assert read_case(folder / entry.name).cleaning.price == 99.5
    page.text_input[0].set_value("a lot").run()
    assert "a number of at least 0 is expected" in texts(page)
    page = page.button(key="change_Season and prices").click().run()
    assert page.title[0].value == "Unit and visits"
    assert page.segmented_control(key="part").value == "Season and prices"


def test_weather_of_another_place_is_read_in_on_the_form(demo, folder):
    page = kept(demo)
    page = page.segmented_control(key="part").set_value("Season and prices").run()
    page = page.file_uploader[0].upload("Our Town.epw", b"no weather", "application/octet-stream").run()
    assert "This file cannot be used" in texts(page)
    content = "\n".join(epw_lines()).encode()
    page = page.file_uploader[0].upload("Our Town.epw", content, "application/octet-stream").run()
    assert not page.exception
    page = page.button(key="save").click().run()
    (entry,) = Workspace(folder).entries()
    weather = read_case(folder / entry.name).season.weather
    assert (folder / weather).read_bytes() == content
    assert Workspace(folder).keep_file("Our Town.epw", content) == weather
    assert Workspace(folder).keep_file("Our Town.epw", content + b" ") == "our-town-2.epw"


def test_a_load_of_ones_own_is_read_in_where_it_names_its_unit(demo, folder):
    page = kept(demo)
    page = page.segmented_control(key="part").set_value("Season and prices").run()
    hours = "\n".join(["4.5"] * 8760)
    page = (
        page.file_uploader(key="upload_load_file")
        .upload("load.csv", f"load\n{hours}".encode(), "text/csv")
        .run()
    )
    assert "the unit of the load is expected in its header" in texts(page)
    content = f"load [kW]\n{hours}".encode()
    page = page.file_uploader(key="upload_load_file").upload("load.csv", content, "text/csv").run()
    assert not page.exception
    page.button(key="save").click().run()
    (entry,) = Workspace(folder).entries()
    assert (folder / read_case(folder / entry.name).season.load_file).read_bytes() == content


def test_steps_and_hours_of_a_price_are_typed_on_the_form(demo, folder):
    page = kept(demo)
    page = page.segmented_control(key="part").set_value("Season and prices").run()

    def put(ending: str, text: str) -> None:
        nonlocal page
        (box,) = (one for one in page.text_input if f"_{ending}_" in (one.key or ""))
        page = box.set_value(text).run()

    put("blocks_1_above", "600")
    put("blocks_1_adds", "0.06")
    put("blocks_2_above", "900")
    put("blocks_2_adds", "0.02")
    assert not page.exception
    page.button(key="save").click().run()
    (entry,) = Workspace(folder).entries()
    blocks = read_case(folder / entry.name).season.tariff.blocks
    assert [one.adds for one in blocks] == pytest.approx([0.06, 0.02])


@pytest.mark.parametrize(("system", "order"), [("US", "MM/DD/YYYY"), ("SI", "YYYY-MM-DD")])
def test_dates_are_in_the_order_of_the_units(demo, system, order):
    page = kept(demo)
    page = page.segmented_control(key="system_switch").set_value(system).run()
    assert {box.proto.format for box in page.date_input} == {order}


def test_a_photo_is_kept_beside_the_case_without_its_place(demo, folder):
    page = kept(demo)
    page = page.segmented_control(key="part").set_value("Report").run()
    page = page.file_uploader[0].upload("x.jpg", b"no photo", "image/jpeg").run()
    assert "a photo as a JPEG or PNG file is expected" in texts(page)
    page = page.file_uploader[0].upload("x.jpg", taken(), "image/jpeg").run()
    assert not page.exception
    page.button(key="save").click().run()
    (entry,) = Workspace(folder).entries()
    name = read_case(folder / entry.name).report.coil_photo
    assert b"owner" not in (folder / name).read_bytes()


def test_a_unit_that_is_gone_is_said(app, folder):
    app.query_params["unit"] = "../../etc/passwd"
    page = app.switch_page(MEASURED.file).run()
    assert not page.exception
    assert "No unit is open" in texts(page)


@pytest.mark.usefixtures("few_draws")
def test_names_from_a_file_take_no_effect_on_the_page(folder):
    case = DEMO.read_text(encoding="utf-8").replace(
        "Millbrook Street reading room", "<img src=x onerror=alert(1)> **bold** [a](http://localhost) 空調"
    )
    folder.mkdir()
    (folder / "odd.toml").write_text(case, encoding="utf-8")
    page = AppTest.from_file(str(SCRIPT), default_timeout=HANGING)
    page.query_params["unit"] = "odd.toml"
    page = page.run()
    for question in (*ANSWERS, *KEEPING):
        page = page.switch_page(question.file).run()
        assert not page.exception
        assert not any("<img" in str(element.proto.body) for element in page.get("html"))
        if question is REPORT:
            assert [one.value.replace("\\", "") for one in page.warning] == [
                "The PDF has no letters for 空調 and prints □ instead; the HTML report shows them."
            ]


def read_in(app: AppTest, kind: str, content: bytes, name: str) -> AppTest:
    page = app.switch_page(IMPORT.file).run()
    page = page.segmented_control(key="kind").set_value(kind).run()
    return page.file_uploader[0].upload(name, content, "application/octet-stream").run()


def test_a_case_file_is_kept_as_a_unit(app, folder):
    page = read_in(app, "A case file", DEMO.read_bytes(), "demo.toml")
    assert not folder.exists()
    page = page.button(key="keep_case").click().run()
    assert not page.exception and page.title[0].value == "In short"
    (entry,) = Workspace(folder).entries()
    assert read_case(folder / entry.name) == read_case(DEMO)


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"units = 3", b"[unit", b"", b"x = 1\n" * 10])
def test_a_spoilt_case_file_is_said_and_nothing_is_written(app, folder, content):
    page = read_in(app, "A case file", content, "spoilt.toml")
    assert not page.exception
    assert "This file cannot be read in" in texts(page)
    assert not folder.exists()


def test_a_table_of_visits_goes_into_the_form_and_is_saved(app, folder):
    table = (
        b"Visit,Coil,Date,Outdoor air [C],Return DB (C),Return WB (C),Suction pressure (psi),Liquid psi,Sky\n"
        b"spring,clean,5/3/2026,28,24.5,17.5,132,333,\nsummer,dirty,,34.9,25.5,18.4,139,437,hazy\n"
        b"autumn,dirty,,30,25,18,136,390,\n"
    )
    page = read_in(app, "A table of visits", table, "visits.csv")
    assert not page.exception
    told = [one.value.replace("\\", "") for one in page.caption]  # marks are escaped
    assert "Left out: “Sky”." in told and "Dates with slashes are read month first." in told
    page = page.button(key="take_table").click().run()
    assert not page.exception and page.title[0].value == "Enter your unit"
    page = page.switch_page(EDIT.file).run()
    fill(page, "Name of the unit", "From a table")
    fill(page, "Rated capacity", "36000")
    page = page.run().button(key="save").click().run()
    assert not page.exception
    case = read_case(folder / "from-a-table.toml")
    assert [(visit.label, visit.coil) for visit in case.visits] == [
        ("spring", "clean"), ("summer", "as found"), ("autumn", "as found")
    ]  # fmt: skip
    assert case.visits[0].outdoor_db == pytest.approx(301.15)


def test_a_log_becomes_a_visit_in_the_form(app, tmp_path):
    from tests.made_logs import made_log, write_log

    path = write_log(tmp_path / "log.csv", made_log())
    page = read_in(app, "A log over time", path.read_bytes(), "log.csv")
    assert not page.exception
    assert "Steady for" in texts(page)
    page = page.button(key="take_log").click().run()
    assert not page.exception
    values = {one.label: one.value for one in page.text_input}
    assert float(values["Suction pressure [psi]"]) > 0


def test_what_is_no_log_is_said(app):
    page = read_in(app, "A log over time", b"a,b\n1,2\n", "log.csv")
    assert not page.exception
    assert "has no column of times" in texts(page)


def test_units_are_duplicated_removed_and_brought_back_on_the_page(demo, folder):
    page = kept(demo)
    (entry,) = Workspace(folder).entries()
    page = page.switch_page(UNITS.file).run()
    page = page.button(key=f"copy_{entry.name}").click().run()
    assert len(Workspace(folder).entries()) == 2
    page = page.button(key=f"remove_{entry.name}").click().run()
    assert not page.exception and len(Workspace(folder).entries()) == 1
    page = page.button(key="undo_remove").click().run()
    assert not page.exception and len(Workspace(folder).entries()) == 2
    assert "undo_remove" not in [button.key for button in page.button]
    page = page.button(key=f"remove_{entry.name}").click().run()
    (gone,) = Workspace(folder).removed()
    page = page.button(key=f"back_{gone}").click().run()
    assert not page.exception and len(Workspace(folder).entries()) == 2


def test_streamlit_by_itself_gets_the_same_settings():
    import tomllib

    with (ROOT / ".streamlit" / "config.toml").open("rb") as file:
        tables = tomllib.load(file)
    told = {f"{table}.{name}": value for table, entries in tables.items() for name, value in entries.items()}
    assert told == SETTINGS


def test_the_app_listens_on_this_computer_alone_and_sends_nothing():
    assert SETTINGS["server.address"] == "127.0.0.1"
    assert SETTINGS["browser.gatherUsageStats"] is False
    assert page_settings.USUAL_WORKSPACE


def test_a_taken_port_is_said_in_one_line(capsys):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        line = refused_in_one_line(capsys, "app", "--port", port)
    assert line.startswith(f"coiltoll: --port: cannot listen on port {port} of 127.0.0.1 (")
    assert line.endswith("; a free port is expected")


def test_a_page_is_told_where_its_server_is_before_it_asks():
    document = first_document()
    assert "<title>Coiltoll</title>" in document
    assert 0 < document.index(SAY_WHERE) < document.index('<script type="module"')
