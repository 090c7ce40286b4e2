"""The report: the same figures as `--json`, whole files, the same bytes twice, nothing fetched."""

import io
import json
import re
from dataclasses import replace
from datetime import date
from functools import cache
from html import escape
from html.parser import HTMLParser

import pypdf
import pytest

from calibration.case.records import ReportEntry
from dashboard.cli import run
from dashboard.report.comparison_report import SUFFIXES, check_suffix, comparison_report, write_report
from dashboard.report.cost_sections import cost_sections, costs_of_visit
from dashboard.report.findings import Findings, beside_sections, finding_points, visit_findings
from dashboard.report.html import html
from dashboard.report.parts import Blanks, Cards, Grid, Paragraph, Picture, Points, Report, Section
from dashboard.report.pdf import lost_sentence, pdf, unprintable
from dashboard.results import comparison as compared
from dashboard.results.costs import cleaning_advice, season_cost
from dashboard.results.figures import Figure
from tests.calibration.files.test_photo import taken
from tests.test_language import found_in


@pytest.fixture(scope="module")
def report(demo) -> Report:
    return comparison_report(demo.case, demo.baseline, demo.comparison, "US")


@pytest.fixture(scope="module")
def printed(report, demo) -> bytes:
    return pdf(report, demo.visit.date)


@cache
def pages_of(file: bytes) -> list[str]:
    """What is written on each page; pictures are in the same stream, which makes this slow."""
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(file)).pages]


def text_of(file: bytes) -> str:
    return re.sub(r"\s+", " ", " ".join(pages_of(file)))


@pytest.fixture(scope="module")
def findings(demo, priced) -> Findings:
    return visit_findings(demo.case, demo.baseline, demo.comparison, priced)


@pytest.fixture(scope="module")
def whole(demo, findings) -> Report:
    return comparison_report(demo.case, demo.baseline, demo.comparison, "US", findings)


@pytest.fixture(scope="module")
def whole_printed(whole, demo) -> bytes:
    return pdf(whole, demo.visit.date)


class Words(HTMLParser):
    """Text and addresses of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.addresses: list[str] = []

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def handle_starttag(self, tag: str, attrs: list) -> None:
        self.addresses += [value for name, value in attrs if name in ("src", "href")]
        if tag == "img":
            assert dict(attrs)["alt"]


def test_customer_and_company_are_printed_where_the_case_names_them(demo, printed):
    names = {"customer": "Mill & Brook", "address": "1 <Street>", "technician": "A. Hand"}
    named = ReportEntry(company="Coil Co", **names)
    report = comparison_report(replace(demo.case, report=named), demo.baseline, demo.comparison, "US")
    file = pdf(report, demo.visit.date)
    told = text_of(file)
    page = html(report)
    for text in (*names.values(), "Coil Co"):
        assert text in told and escape(text) in page
    assert "Licence number" in told, "a line to fill in"
    assert "Mill & Brook" not in text_of(printed)
    counts = [len(pypdf.PdfReader(io.BytesIO(each)).pages) for each in (printed, file)]
    assert counts[0] == counts[1]


def test_photos_beside_the_case_are_printed_without_their_place(demo, tmp_path):
    (tmp_path / "coil.jpg").write_bytes(taken())
    named = ReportEntry(coil_photo="coil.jpg")
    case = replace(demo.case, report=named, source=tmp_path / "unit.toml")
    report = comparison_report(case, demo.baseline, demo.comparison, "US")
    (photos,) = (one for one in report.sections if one.heading == "Photos")
    assert b"data:image/jpeg" in photos.blocks[0].svg
    pages = pypdf.PdfReader(io.BytesIO(pdf(report, demo.visit.date))).pages
    images = [image for page in pages for image in page.images]
    assert len(images) == 1 and b"owner" not in images[0].data
    assert "Photo of the coil" in html(report)
    missing = replace(case, report=ReportEntry(coil_photo="gone.jpg"))
    with pytest.raises(ValueError, match="no photo beside the case"):
        comparison_report(missing, demo.baseline, demo.comparison, "US")


def shown_figures(demo) -> list[Figure]:
    columns = compared.comparison_columns(demo.comparison, "US")
    losses = compared.loss_figures(demo.comparison, "US")
    kept = [one for one in losses if one.key in ("eer_change", "net_capacity_taken", "total_power_taken")]
    return [*(one for _, figures in columns for one in figures), *kept]


def test_pdf_and_html_hold_the_figures_of_json(report, printed, demo, capsys):
    assert run(["compare", str(demo.case.source), "--json"]) == 0
    (numbers,) = json.loads(capsys.readouterr().out)["comparisons"]
    page = Words()
    page.feed(html(report))
    texts = (text_of(printed), re.sub(r"\s+", " ", " ".join(page.words)))
    by_key = {**numbers["losses"], **numbers["figures"]["measured"]}
    for one in shown_figures(demo):
        for text in texts:
            assert one.text in text, one.key
            assert one.interval_text in text, one.key
    for key in ("eer_change", "net_capacity_taken", "condensing_temperature", "eer"):
        digits = {one.key: one.decimals for one in shown_figures(demo)}[key]
        for text in texts:
            assert f"{by_key[key]['value']:,.{digits}f}" in text
    for sentence in numbers["sentences"][:2]:  # the verdict, and the face that is blocked
        for text in texts:
            assert sentence in text


def test_pdf_has_two_to_four_pages_title_language_and_described_pictures(printed, report):
    file = pypdf.PdfReader(io.BytesIO(printed))
    assert 2 <= len(file.pages) <= 4
    assert file.metadata.title == report.title
    root = file.trailer["/Root"]
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"]
    for part in report.sections:
        for block in part.blocks:
            if isinstance(block, Picture):
                assert len(block.description) > 20


def test_money_date_and_fault_are_printed_as_in_json(whole_printed, priced):
    assert 2 <= len(pages_of(whole_printed)) <= 4
    text = text_of(whole_printed)
    season = season_cost.season_json(priced.season, "US")
    plan = cleaning_advice.interval_json(priced.interval, "US")
    for name in ("today", "coming"):
        for key in ("energy", "money", "carbon"):
            one = season["year"][name][key]
            assert f"{one['value']:,.0f}" in text and f"{one['low']:,.0f} to {one['high']:,.0f}" in text
    for sentence in (*season["sentences"], *season["ground"], plan["headline"], *plan["reasons"]):
        assert re.sub(r"\s+", " ", sentence) in text
    assert "Fouled condenser coil, over 99 %" in text
    assert "Clean and as found, in the same weather" in text


def test_its_words_are_those_of_the_table_of_words(whole):
    text = html(whole)
    assert len(whole.sections) > 5
    assert all(escape(section.heading) in text for section in whole.sections)
    assert found_in(re.sub(r"<style>.*?</style>|base64,[^\"]*", " ", text, flags=re.DOTALL)) == []


def test_the_outdoor_air_that_trips_the_unit_is_that_of_predict(whole, demo, capsys):
    share = f"{100.0 * demo.comparison.finding.blocked.value:.12g}"
    assert run(["predict", str(demo.case.source), "--blocked", share, "--json"]) == 0
    sentence = json.loads(capsys.readouterr().out)["trip"]["sentences"][0]
    assert "on high pressure" in sentence
    assert sentence in points_under(whole, "What the readings say")


def points_under(report: Report, heading: str) -> tuple[str, ...]:
    """Sentences of the points under a heading."""
    (section,) = (one for one in report.sections if one.heading == heading)
    return tuple(said for block in section.blocks if isinstance(block, Points) for said in block.sentences)


def test_no_line_of_the_pdf_breaks_a_share_or_a_unit():
    words = [f"{'x' * place} (18.5 %) {'x' * place} 3.5 W/W" for place in range(1, 60)]
    told = (Paragraph(" ".join(words), strong=True), Points((" ".join(words),)))
    text = text_of(pdf(Report("Title", "Subtitle", "Author", (Section("Words", told),)), date(2026, 7, 1)))
    assert text.count("(18.5 %)") == text.count("3.5 W/W") == 2 * len(words)


def test_the_headline_is_for_an_owner(whole):
    first = whole.sections[0].blocks[0]
    assert isinstance(first, Paragraph) and first.strong
    for jargon in ("coiltoll", "standard", "misfit", "squared", "EER"):
        assert jargon not in first.text
    assert "of the outdoor coil's face is blocked" in first.text
    assert "USD" in first.text


def test_the_first_page_is_the_owners(whole, whole_printed):
    """Finding, clean and now in a picture, money with its range, one action with its date; nothing else."""
    pages = pages_of(whole_printed)
    page = re.sub(r"\s+", " ", pages[0])
    headings = [section.heading for section in whole.sections]
    first = headings[: headings.index("What the readings say")]
    assert first == ["Finding", "What to do, and when", "Unit and weather"]
    assert all(heading in page for heading in first)
    assert not any(heading in page for heading in headings[len(first) :])
    (picture,) = (block for block in whole.sections[0].blocks if isinstance(block, Picture))
    assert picture.description.startswith("With a clean coil 100; now power drawn 10")
    assert "Customer" in page and "USD" in page
    assert all(len(one) > 900 for one in pages), "no page is half empty"


@pytest.fixture(scope="module")
def elsewhere(gassy) -> Report:
    findings = visit_findings(gassy.case, gassy.baseline, gassy.comparison, gassy.costs)
    return comparison_report(gassy.case, gassy.baseline, gassy.comparison, "US", findings)


def test_readings_that_point_elsewhere_come_first(elsewhere):
    first = elsewhere.sections[0].blocks[0]
    assert first.text.startswith("Cleaning is not the matter: the readings point to non-condensables")
    assert "USD" not in first.text
    cards = elsewhere.sections[0].blocks[1].figures
    assert cards[0][1] == "EER"
    assert not any("blocked" in words for _, words, _ in cards)
    shown = str([section for section in elsewhere.sections if section.heading != "In pictures"])
    assert "of the face blocked" not in shown and "Blocked face area" not in shown
    points = points_under(elsewhere, "What the readings say")
    assert any(point.startswith("If it is non-condensables: ") for point in points)
    acts = points_under(elsewhere, "What to do")
    assert any("Cleaning the condenser does not correct it" in act for act in acts)


def test_no_page_of_that_report_advises_a_cleaning(elsewhere, gassy):
    file = pdf(elsewhere, gassy.visit.date)
    text = text_of(file)
    first_page = re.sub(r"\s+", " ", pages_of(file)[0])
    assert "Cleaning is not the matter: the readings point to non-condensables" in first_page
    for clean in ("Clean it now", "Not yet", "Whatever the date", "would save"):
        assert clean not in text and clean not in html(elsewhere)
    headings = [section.heading for section in elsewhere.sections]
    assert "If it were fouling: what it costs in a year" in headings
    assert "What to do, and when" not in headings


def test_a_suspect_figure_is_struck_through_beside_the_supported_one(suspect):
    report = comparison_report(suspect.case, suspect.baseline, suspect.comparison, "US")
    shown = {one.key: one for one in compared.measured_figures(suspect.comparison, "US")}["net_capacity"]
    assert shown.supported is not None
    page, text = html(report), text_of(pdf(report, suspect.visit.date))
    assert f'<s title="suspect reading">{shown.text}</s> <b>{shown.supported.text}</b>' in page
    assert f"{shown.text} {shown.supported.text}" in text
    assert any("is suspect" in one for one in points_under(report, "What the readings say"))
    (cards,) = (block for block in report.sections[0].blocks if isinstance(block, Cards))
    for number, words, _ in cards.figures:
        assert not number.startswith(shown.text), words


def test_a_finding_without_a_claim_gives_no_repair(demo):
    other = replace(demo.comparison.finding, verdict="inconclusive", claimed=())
    points = " ".join(finding_points(other, "US"))
    assert "Repair nothing yet" in points
    clean = replace(demo.comparison.finding, verdict="no_fault", claimed=())
    assert "To separate them" not in " ".join(finding_points(clean, "US"))


def test_why_nothing_is_said_of_money_is_a_sentence(demo):
    (section,) = cost_sections("weather file nowhere.epw does not exist", "US")
    assert section.blocks == (Paragraph("Not calculated: weather file nowhere.epw does not exist."),)
    assert cost_sections("", "US") == ()
    lost = replace(demo.case, season=replace(demo.case.season, weather="nowhere.epw"))
    found = costs_of_visit(lost, demo.baseline, demo.comparison.finding)
    assert found == "weather file nowhere.epw does not exist"


def test_without_a_price_the_report_says_what_is_missing(priced):
    sections = cost_sections(replace(priced, interval=None, recommendation=None), "SI")
    assert sections[0].blocks == (Paragraph(season_cost.NO_PRICE),)
    assert [section.heading for section in sections] == ["What to do, and when", "What it costs in a year"]


def test_measuring_first_says_what_it_is_worth(priced):
    measuring = replace(priced.interval.measuring, advice="measure first")
    first, _ = cost_sections(replace(priced, interval=replace(priced.interval, measuring=measuring)), "US")
    assert "Measure before" in first.blocks[0].text
    assert first.blocks[1].sentences[0].startswith("Measuring once more")


def test_a_clean_visit_stands_beside_the_one_as_found(findings, demo):
    (section,) = beside_sections(findings.moved, demo.case, "US")
    (table,) = [block for block in section.blocks if isinstance(block, Grid)]
    assert table.headings[1:3] == ("as found, 2026-08-12", "clean, 2026-05-19")
    liquid = next(row for row in table.rows if row[0].startswith("Liquid"))
    assert liquid[1] == liquid[3] == "437.0"  # the as-found visit was in the hotter weather: it stays
    assert float(liquid[5]) == pytest.approx(float(liquid[3]) - float(liquid[4]), abs=0.11)


def test_a_clean_visit_after_a_cleaning_makes_before_and_after(findings, demo):
    later = replace(demo.case.clean_visits[0], date=date(2026, 9, 1))
    case = replace(demo.case, visits=(later, demo.visit))
    (section,) = beside_sections(findings.moved, case, "US")
    assert section.blocks[1].headings[1:3] == ("before cleaning, 2026-08-12", "after cleaning, 2026-09-01")
    earlier = replace(later, label="long before", date=date(2025, 5, 1))
    three = replace(demo.case, visits=(earlier, *case.visits))
    assert visit_findings(three, demo.baseline, demo.comparison).moved.second == later.label


def test_without_a_clean_visit_nothing_stands_beside(demo):
    case = replace(demo.case, visits=(demo.visit,))
    assert visit_findings(case, demo.baseline, demo.comparison).moved is None
    assert beside_sections(None, case, "US") == ()


def test_cautions_and_lines_to_sign_are_printed(printed):
    text = text_of(printed)
    for words in (
        "EPA Section 608",
        "NFPA 70E",
        "local codes prevail",
        "Licence number",
        "Signature",
        "Company",
    ):
        assert words in text


@pytest.mark.usefixtures("worked_out_anew")
def test_the_same_report_gives_the_same_bytes(demo, report, printed):
    again = comparison_report(demo.case, demo.baseline, demo.comparison, "US")
    assert pdf(again, demo.visit.date) == printed
    assert html(again) == html(report)


def test_html_stands_alone(report):
    page = Words()
    page.feed(html(report))
    assert page.addresses
    assert all(address.startswith("data:image/svg+xml;base64,") for address in page.addresses)
    assert "<script" not in html(report)


def test_text_from_a_case_is_text_and_nothing_else(demo):
    wild = '<script>alert(1)</script> #panic("no") $x$ *bold* "quote" \\ end'
    case = replace(demo.case, unit=replace(demo.case.unit, name=wild))
    report = comparison_report(case, demo.baseline, demo.comparison, "SI")
    page = html(report)
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    text = text_of(pdf(report, demo.visit.date, "a4"))
    for part in ("alert(1)", "#panic", "*bold*", "$x$"):
        assert part in text


def test_a_report_without_pictures_or_rows_is_printed(demo):
    small = Report("Title", "Sub", "me", (Section("One", (Paragraph("Words"), Grid(("a", "b", "c"), ()))),))
    assert "Words" in text_of(pdf(small, demo.visit.date))
    assert "Words" in html(small)


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_report_command_writes_a_whole_file_and_prints_its_figures(
    suffix, tmp_path, demo, quick_costs, capsys
):
    path = tmp_path / f"found{suffix}"
    assert run(["report", str(demo.case.source), "-o", str(path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["written"] == str(path)
    assert told["severity"]["condenser_blocked"]["value"] > 0
    assert told["season"] == season_cost.season_json(quick_costs.season, "US")
    assert told["interval"] == cleaning_advice.interval_json(quick_costs.interval, "US")
    assert told["match"]["verdict"] and told["clean_and_found"]["rows"]
    assert path.stat().st_size > 20_000
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


def test_another_ending_is_refused_before_any_work(tmp_path, demo, capsys):
    path = tmp_path / "found.docx"
    assert run(["report", str(demo.case.source), "-o", str(path)]) == 2
    assert ".pdf or .html is expected" in capsys.readouterr().err
    assert not path.exists()
    with pytest.raises(ValueError, match="ends in nothing"):
        check_suffix(tmp_path / "found")


def test_a_folder_that_is_not_there_is_a_sentence(tmp_path, report, demo, capsys):
    path = tmp_path / "nowhere" / "found.html"
    with pytest.raises(OSError):
        write_report(report, path, None, "US")
    assert run(["report", str(demo.case.source), "-o", str(path)]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "No such file or directory" in line


def test_demo_runs_the_main_job_and_writes_a_report(tmp_path, quick_costs, capsys):
    path = tmp_path / "demo.html"
    assert run(["demo", "-o", str(path)]) == 0
    table = capsys.readouterr().out
    assert "invented" in table.lower()
    assert "Loss in this weather" in table
    assert path.is_file()
    assert run(["demo", "-o", str(path), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["written"] == str(path)


SCRIPTS = "空調 ห้อง 🏢 Αθήνα Київ ‎مكتب"


def test_scripts_that_the_font_lacks_are_boxes_and_never_an_error():
    file = pdf(Report(f"Title {SCRIPTS}", SCRIPTS, "Author", (Section(SCRIPTS, ()),)), date(2026, 7, 1))
    text = text_of(file)
    assert "Αθήνα Київ" in text
    assert "□□ " in text
    assert "空" not in text


def test_what_cannot_be_printed_is_said_once_each():
    assert unprintable(f"{SCRIPTS} {SCRIPTS} e\u200d\u00a0é") == "空調หอง🏢"
    assert lost_sentence("Αθήνα, plain and é") == ""
    assert lost_sentence("空調空") == (
        "The PDF has no letters for 空調 and prints □ instead; the HTML report shows them."
    )
    assert "and 2 more" in lost_sentence("".join(map(chr, range(0x4E00, 0x4E0C))))


@pytest.mark.parametrize("lines", range(20, 68, 8))
def test_lines_to_sign_on_never_have_a_page_to_themselves(lines):
    """Whatever comes before, the cautions are on the page of the signatures."""
    filled = Section("Basis", tuple(Paragraph(f"Line {number} of the basis.") for number in range(lines)))
    cautions = Section("Before anyone goes to the unit", (Points(("Lock out the supply.", "Local codes.")),))
    signed = Section("Signed", (Blanks(("Company", "Date", "Signature"), ("", "", "")),))
    report = Report("Report", "unit", "program", (filled, cautions, signed))
    pages = [one.extract_text() for one in pypdf.PdfReader(io.BytesIO(pdf(report, date(2026, 1, 1)))).pages]
    (page,) = [one for one in pages if "Signature" in one]
    assert "Lock out the supply." in page
    assert sum(text.count("Signed") for text in pages) == 1
