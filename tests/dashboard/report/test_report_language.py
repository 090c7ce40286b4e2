"""The report in another language: every sentence of it, its charts, its file and its errors."""

import html as entities
import io
import re
from collections.abc import Iterator

import pypdf
import pytest

from dashboard.charts.chart import Bars, Chart, HeatMap
from dashboard.cli import run
from dashboard.report import comparison_report, cost_sections, fleet_report
from dashboard.report.findings import visit_findings
from dashboard.report.html import html
from dashboard.report.pdf import pdf, unprintable, words_of
from dashboard.texts.language_file import read_language
from dashboard.texts.translate import Language, in_language, language_code
from tests.dashboard.conftest import CASES
from tests.dashboard.texts.pseudo import LETTERS, other, pseudo_file
from tests.made_results import made_rows

UNITS = {"Btu", "degF", "psi", "cfm", "ft", "USD", "kWh", "kg", "lb"}
"""What is not translated, beside the case's own names."""
NOT_TRANSLATED = ("unit", "site", "currency", "problem", "growth_from")
"""Of a row of many units: a table keeps what growth rests on as one text."""


@pytest.fixture(scope="module")
def language(tmp_path_factory) -> Language:
    return read_language(pseudo_file(tmp_path_factory.mktemp("language")))


@pytest.fixture(autouse=True)
def _english_again() -> Iterator[None]:
    yield
    assert language_code() == "en"


def left_in_english(text: str, case) -> set[str]:
    """Words that are neither translated nor names or units."""
    named = [case.unit.name, case.unit.refrigerant, case.currency, *(one.notes for one in case.visits)]
    known = " ".join([*named, *(one.label for one in case.visits), "Greensboro Piedmont Triad Int NC"])
    return set(LETTERS.findall(text)) - UNITS - set(LETTERS.findall(known))


def chart_words(chart: Chart) -> str:
    words = [chart.title, chart.description]
    for axis in (chart.x, chart.y):
        words += [axis.title, *(name for _, name in axis.ticks)]
    for layer in chart.layers:
        words += [getattr(layer, "name", ""), getattr(layer, "text", ""), *getattr(layer, "labels", ())]
        words += (
            layer.texts if isinstance(layer, Bars) else [layer.label] if isinstance(layer, HeatMap) else []
        )
    return "\n".join(words)


def reported(one, costs, language: Language, monkeypatch) -> tuple[str, str, object]:
    """The report as a page without its looks, its charts' words, and the report itself."""
    drawn: list[Chart] = []

    def noted(chart: Chart, *size: float) -> bytes:
        drawn.append(chart)
        return b"<svg/>"

    monkeypatch.setattr(comparison_report, "svg", noted)
    monkeypatch.setattr(cost_sections, "svg", noted)
    found = visit_findings(one.case, one.baseline, one.comparison, costs)
    with in_language(language):
        made = comparison_report.comparison_report(one.case, one.baseline, one.comparison, "US", found)
    return page_words(html(made)), "\n".join(map(chart_words, drawn)), made


def page_words(page: str) -> str:
    """What a page says, without its looks."""
    text = re.sub(r"(?s)<style>.*?</style>", "", page)
    pieces = [*re.findall(r">([^<]+)<", text), *re.findall(r'alt="([^"]*)"', text)]
    return entities.unescape("\n".join(pieces))


def test_every_sentence_of_the_demo_is_in_the_language(demo, priced, language, monkeypatch):
    text, charts, made = reported(demo, priced, language, monkeypatch)
    assert left_in_english(text, demo.case) == set()
    assert left_in_english(charts, demo.case) == set()
    assert len(charts.split("\n")) > 100
    assert made.language == "eo"
    assert '<html lang="eo">' in html(made)


def test_another_fault_and_suspect_readings_are_too(gassy, suspect, language, monkeypatch):
    for one, costs in ((gassy, gassy.costs), (suspect, "")):
        text, charts, _ = reported(one, costs, language, monkeypatch)
        assert left_in_english(text + charts, one.case) == set()


def test_the_report_of_a_fleet_is_too(language, monkeypatch):
    drawn: list[Chart] = []
    monkeypatch.setattr(fleet_report, "svg", lambda chart, *size: drawn.append(chart) or b"<svg/>")
    rows = made_rows(12)
    with in_language(language):
        text = page_words(html(fleet_report.fleet_report(rows, "", unit_pages=True)))
    kept = {word for row in rows for name in NOT_TRANSLATED for word in LETTERS.findall(str(row[name]))}
    assert set(LETTERS.findall(text + "\n".join(map(chart_words, drawn)))) - UNITS - kept == set()
    assert len(drawn) == 3


def test_it_prints_on_paper(demo, language):
    with in_language(language):
        made = comparison_report.comparison_report(demo.case, demo.baseline, demo.comparison, "US")
        assert unprintable(words_of(made)) == ""
        file = pypdf.PdfReader(io.BytesIO(pdf(made, demo.visit.date)))
    assert file.trailer["/Root"]["/Lang"] == "eo"
    assert other("Signed") in file.pages[-1].extract_text()


def test_markup_of_a_translation_is_text(demo, tmp_path):
    path = tmp_path / "bad.po"
    path.write_text(
        'msgid ""\nmsgstr ""\n"Language: de\\n"\n\n'
        'msgid "Finding"\nmsgstr "<script>#pagebreak()$x$*b*</script>"\n'
    )
    with in_language(read_language(path)):
        made = comparison_report.comparison_report(demo.case, demo.baseline, demo.comparison, "US")
        printed = pypdf.PdfReader(io.BytesIO(pdf(made, demo.visit.date))).pages[0].extract_text()
    assert "<script>" not in html(made)
    assert "&lt;script&gt;#pagebreak()$x$*b*&lt;/script&gt;" in html(made)
    assert "<script>#pagebreak()$x$*b*</script>" in printed


@pytest.mark.usefixtures("quick_costs")
def test_the_command_writes_it_and_its_output_stays_english(tmp_path, capsys, language):
    out, case = tmp_path / "report.html", str(CASES / "demo.toml")
    words = ["report", case, "-o", str(out), "--language", str(pseudo_file(tmp_path)), "--json"]
    assert run(words) == 0
    said = capsys.readouterr().out
    assert other("What the readings say") in out.read_text(encoding="utf-8")
    assert run(["report", case, "-o", str(out), "--json"]) == 0
    assert capsys.readouterr().out == said
    assert "What the readings say" in out.read_text(encoding="utf-8")


def test_a_bad_language_file_is_one_sentence(tmp_path, capsys):
    out, bad = tmp_path / "report.html", tmp_path / "bad.po"
    bad.write_text(
        'msgid ""\nmsgstr ""\n"Language: de\\n"\n\nmsgid "{number} of {last}"\nmsgstr "{number}"\n'
    )
    assert run(["report", str(CASES / "demo.toml"), "-o", str(out), "--language", str(bad)]) == 2
    assert "bad.po: line 5, '{number} of {last}': {last} is missing" in capsys.readouterr().err
    assert not out.exists()
    same = str(tmp_path / "same.po")
    (tmp_path / "same.po").write_text(bad.read_text().replace('"{number}"', '"{number}/{last}"'))
    assert run(["report", str(CASES / "demo.toml"), "-o", same, "--language", same]) == 2
    assert ".po" in capsys.readouterr().err
