"""What the printed report of one as-found visit says, and writing it as PDF or HTML.

The same figures as on the pages and in `--json`, through the same functions; no sentence is made up here that
they do not also use, save headings and what is to be filled in by hand.
"""

from base64 import b64encode
from datetime import date
from errno import ENOENT
from importlib.metadata import version
from os import strerror
from pathlib import Path

from calibration.case.records import Case
from calibration.case.units import System
from calibration.clean_fit.baseline import Baseline
from calibration.costs.case_costs import Costs
from calibration.diagnosis.comparison import Comparison
from calibration.files.atomic_file import write_whole
from calibration.files.photo import photo_beside, photo_size
from dashboard.charts import style
from dashboard.charts.before_after_chart import before_after_chart
from dashboard.charts.cycle_traces import expected_cycle, measured_cycle
from dashboard.charts.draw_svg import svg
from dashboard.charts.loss_charts import difference_chart, loss_chart
from dashboard.charts.property_diagrams import pressure_enthalpy_chart
from dashboard.report.cost_sections import (
    HALF_WIDTH,
    WHOLE_WIDTH,
    circuit_sections,
    cost_grounds,
    cost_sections,
)
from dashboard.report.findings import Findings, beside_sections, finding_points, headline
from dashboard.report.parts import Blanks, Block, Cards, Grid, Paragraph, Picture, Points, Report, Section
from dashboard.report.track_section import track_sections
from dashboard.results import comparison as compared
from dashboard.results import performance
from dashboard.results.cautions import cautions
from dashboard.results.clean_fit import fit_sentence as clean_fit_sentence
from dashboard.results.costs.season_cost import headline_figures, season_sentences
from dashboard.results.figures import Figure, Struck, figure, with_interval
from dashboard.results.match import fit_sentence
from dashboard.results.next_steps import what_to_do
from dashboard.results.prediction import setting_figures, weather_of
from dashboard.results.suspect_readings import brief_suspects
from dashboard.results.trip import trip_temperatures
from dashboard.results.wording import words_of
from dashboard.texts.translate import language_code, tr
from model.properties.refrigerant import refrigerant

SUFFIXES = (".pdf", ".html")
UNDATED = date(1980, 1, 1)  # day in the file's properties where the visit has none
MEASURED_FIRST = ("eer", "net_capacity", "approach", "subcooling", "superheat")
"""Figures to see first where no fouling was found."""
OWNER = ("customer", "address", "nameplate")
OWNER_WIDTH = (180.0, 62.0)  # of the picture on the first page [mm]
BAR_HEIGHT, AROUND_BARS = 5.2, 22.0  # of a bar with its label, and of what is around the bars [mm]
SIGNED = ("company", "licence_number", "technician")
BY_HAND = ("Date", "Signature", "Owner or owner's representative")


def comparison_report(
    case: Case,
    baseline: Baseline,
    comparison: Comparison,
    system: System,
    findings: Findings | None = None,
) -> Report:
    """Report of one visit beside the clean unit.

    Parameters
    ----------
    case : Case
        Unit, meters and visits.
    baseline : Baseline
        The fitted clean unit.
    comparison : Comparison
        The visit beside it.
    system : {"US", "SI"}
        Units to show.
    findings : Findings, optional
        What it costs, clean and as found side by side; left out, the report says nothing of them.

    Returns
    -------
    Report
        Ready to print.
    """
    findings, visit = findings or Findings(), comparison.visit
    dirt = comparison.finding.shows_condenser
    when = f", {visit.date.isoformat()}" if visit.date else ""
    costs = cost_sections(findings.cost, system)
    action = Section(tr("What to do"), (Points(tuple(what_to_do(comparison.finding))),))
    if dirt and costs:  # else costs only suppose that the coil is fouled
        action, costs = costs[0], costs[1:]
    return Report(
        title=tr("Condenser coil report"),
        subtitle=f"{case.unit.name}: {visit.label}{when}",
        author=f"coiltoll {version('coiltoll')}",
        sections=(
            Section(tr("Finding"), _finding(comparison, system, findings)),
            action,
            Section(tr("Unit and weather"), (*_unit_grids(case, comparison, system), _named(case, OWNER))),
            Section(
                tr("What the readings say"), _readings(case, baseline, comparison, system, findings), True
            ),
            *costs,
            *circuit_sections(findings.circuits, system),
            Section(
                tr("Measured, and expected of a clean coil in the same weather"),
                (_table(comparison, system, dirt),),
            ),
            *beside_sections(findings.moved, case, system),
            *track_sections(case, baseline, system),
            Section(tr("In pictures"), _pictures(case, baseline, comparison, system, dirt)),
            Section(
                tr("Basis of the figures, and what was not measured"),
                _grounds(baseline, comparison, findings, system),
            ),
            Section(tr("Before anyone goes to the unit"), (Points(_cautions(case)),)),
            *_photos(case),
            Section(tr("Signed"), (_named(case, SIGNED, BY_HAND),)),
        ),
        language=language_code(),
    )


def _named(case: Case, names: tuple[str, ...], by_hand: tuple[str, ...] = ()) -> Blanks:
    """Lines for what the case may name, and lines to be filled in by hand in any case."""
    known = tuple(getattr(case.report, name) for name in names)
    labels = tuple(words_of(name, "report") for name in names)
    return Blanks((*labels, *(tr(one) for one in by_hand)), (*known, *("" for _ in by_hand)))


def _photos(case: Case) -> list[Section]:
    """Photos that the case names, side by side; no section where it names none."""
    named = {
        tr("Photo of the coil"): case.report.coil_photo,
        tr("Photo of the nameplate"): case.report.nameplate_photo,
    }
    pictures = tuple(
        Picture(_photo_svg(photo_beside(case, name)), words) for words, name in named.items() if name
    )
    return [Section(tr("Photos"), pictures, new_page=True)] if pictures else []  # with the signatures


def _photo_svg(jpeg: bytes) -> bytes:
    """A photo as the picture that a report takes."""
    width, height = photo_size(jpeg)
    data = b64encode(jpeg).decode("ascii")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}"><image href="data:image/jpeg;base64,{data}" width="{width}" height="{height}"/>'
        "</svg>"
    ).encode("ascii")


def _trip_sentences(case: Case, baseline: Baseline, comparison: Comparison, system: System) -> list[str]:
    """In which outdoor air the unit trips with the fouling found."""
    weather, share = weather_of(case, comparison.visit), comparison.finding.blocked.value
    return [one.sentence for one in trip_temperatures(baseline, weather, [share], system, {})]


def _finding(comparison: Comparison, system: System, findings: Findings) -> tuple[Block, ...]:
    """The finding in an owner's words, clean and now in one picture, and a few figures to see first."""
    lines = headline(comparison)
    if comparison.finding.suspects:
        lines.append(brief_suspects(comparison.finding))
    if not comparison.finding.shows_condenser:
        measured = {one.key: one for one in compared.measured_figures(comparison, system)}
        first = [measured[key] for key in MEASURED_FIRST if key in measured][:4]
        return (Paragraph(" ".join(lines), strong=True), *((_cards(first),) if first else ()))
    shown = {
        one.key: one
        for one in (*compared.level_figures(comparison), *compared.loss_figures(comparison, system))
    }
    season = findings.cost.season if isinstance(findings.cost, Costs) else None
    first = [shown["condenser_blocked"], shown["eer_change"]]
    if season is not None:
        lines += season_sentences(season, system)[:1]
        first = [*headline_figures(season, system)[:2], *first]
    else:
        first += [shown["net_capacity_taken"], shown["total_power_taken"]]
    chart = before_after_chart(comparison, season, system)
    return (
        Paragraph(" ".join(lines), strong=True),
        Picture(svg(chart, *OWNER_WIDTH), chart.description),
        _cards(first),
    )


def _readings(
    case: Case, baseline: Baseline, comparison: Comparison, system: System, findings: Findings
) -> tuple[Block, ...]:
    """The verdict, suspect readings, level and loss, in the trade's terms."""
    points = list(finding_points(comparison.finding, system))
    if comparison.finding.shows_condenser:
        shown = {one.key: one for one in compared.loss_figures(comparison, system)}
        lost, more = (with_interval(shown[key]) for key in ("net_capacity_taken", "total_power_taken"))
        points += [
            tr(
                "On the day of the visit the loss was {lost} of capacity, and {more} of power was added.",
                lost=lost,
                more=more,
            ),
            *_trip_sentences(case, baseline, comparison, system),
        ]
    return (Points(tuple(points)),)


def _cards(figures: list[Figure]) -> Cards:
    return Cards(tuple((_number(one), one.label, _interval(one.best)) for one in figures))


def _number(one: Figure) -> str:
    number = f"{one.best.text} {one.unit}".rstrip()
    return number if one.supported is None else Struck(one.text, number)


def _interval(one: Figure) -> str:
    return (
        tr(
            "90 % range {ends}",
            ends=f"{one.interval_text} {one.unit}",
        )
        if one.interval_text
        else ""
    )


def _table(comparison: Comparison, system: System, dirt: bool) -> Grid:
    """Measured, clean and, where fouling was found, with the best-fit blocked face."""
    columns = compared.comparison_columns(comparison, system)[: 3 if dirt else 2]
    headings = [""]
    for name, _ in columns:
        headings += [name, tr("90 % range")]
    by_column = [{one.key: one for one in figures} for _, figures in columns]
    rows = []
    for key in compared.COMPARED:
        found = [column.get(key) for column in by_column]
        named = next((one for one in found if one is not None), None)
        if named is None or found[0] is None:
            continue
        row = [named.heading]
        for one in found:
            row += [one.cell, one.best.interval_text] if one else ["", ""]
        rows.append(tuple(row))
    return Grid(tuple(headings), tuple(rows))


def _pictures(
    case: Case, baseline: Baseline, comparison: Comparison, system: System, dirt: bool
) -> tuple[Block, ...]:
    visit = comparison.visit
    traces = [expected_cycle(comparison.clean.point, style.CLEAN, tr("clean"))]
    if dirt:
        traces.append(expected_cycle(comparison.fouled.point, style.EXPECTED, tr("with fouling")))
    supported = comparison.finding.visit_as_supported
    name = tr("measured") if supported == visit else tr("measured, suspect readings as supported")
    read = measured_cycle(supported, case.unit.refrigerant, style.MEASURED, name)
    fluid = refrigerant(case.unit.refrigerant)
    cycles = [*traces, read] if read else traces
    readings = difference_chart(comparison, system)
    rows = len(compared.reading_rows(comparison, system))
    charts = (
        (pressure_enthalpy_chart(fluid, cycles, system), HALF_WIDTH),
        (
            loss_chart(baseline, weather_of(case, visit), "eer_change", comparison if dirt else None),
            HALF_WIDTH,
        ),
        (readings, (WHOLE_WIDTH[0], max(WHOLE_WIDTH[1], AROUND_BARS + BAR_HEIGHT * rows))),
    )
    return tuple(Picture(svg(chart, *size), chart.description) for chart, size in charts)


def _unit_grids(case: Case, comparison: Comparison, system: System) -> tuple[Grid, Grid]:
    unit = case.unit
    rated = [
        figure(name, getattr(unit, name), system)
        for name in ("rated_capacity", "rated_eer", "altitude")
        if getattr(unit, name) is not None
    ]
    rows = [
        (tr("Refrigerant"), unit.refrigerant),
        (tr("Expansion device"), tr(unit.expansion)),
        (tr("Compressor"), tr(unit.compressor)),
        *((one.heading, one.text) for one in rated),
    ]
    weather = setting_figures(weather_of(case, comparison.visit), system)
    return (
        Grid((tr("Unit"), unit.name), tuple(rows)),
        Grid((tr("Conditions"), comparison.visit.label), tuple((one.heading, one.text) for one in weather)),
    )


def _grounds(
    baseline: Baseline, comparison: Comparison, findings: Findings, system: System
) -> tuple[Block, ...]:
    cost = findings.cost
    level = [compared.face_sentence(comparison)] if comparison.finding.shows_condenser else []
    missing = tuple(f"{one}." for one in performance.missing_sentences(comparison.measured))
    lines = [
        clean_fit_sentence(baseline),
        *level,
        fit_sentence(comparison.finding),
        tr(
            "90 % ranges contain the true value nine times in ten where meters are as accurate "
            "as the case says."
        ),
    ]
    if comparison.visit.notes:
        lines.append(tr("Note of the visit: {notes}", notes=comparison.visit.notes))
    rest = (Points(cost_grounds(cost, system)),) if isinstance(cost, Costs) else ()
    if not missing:
        nothing = tr("Not measured: nothing. Every reading that the figures need was taken.")
        return Paragraph(" ".join(lines)), *rest, Paragraph(nothing)
    return Paragraph(" ".join(lines)), *rest, Paragraph(tr("Not measured:")), Points(missing)


def _cautions(case: Case) -> tuple[str, ...]:
    return cautions(case.unit.refrigerant, refrigerant(case.unit.refrigerant).safety_class)


def write_report(report: Report, path: Path, made: date | None, system: System) -> None:
    """Write a report; the file is there whole or not at all.

    Parameters
    ----------
    report : Report
        What to print.
    path : Path
        Ending in .pdf or .html.
    made : date or None
        Day for the file's properties.
    system : {"US", "SI"}
        Letter paper for US units, A4 for SI.

    Raises
    ------
    ValueError
        If the file's ending is another.
    OSError
        If it cannot be written.
    """
    check_suffix(path)
    write_whole(path, report_content(report, path.suffix.lower(), made, system))


def report_content(report: Report, ending: str, made: date | None, system: System) -> bytes:
    """A report as a file.

    Parameters
    ----------
    report : Report
        What to print.
    ending : str
        ".pdf" or ".html".
    made : date or None
        Day for the file's properties.
    system : {"US", "SI"}
        Letter paper for US units, A4 for SI.

    Returns
    -------
    bytes
    """
    if ending == ".pdf":
        from dashboard.report.pdf import pdf

        return pdf(report, made or UNDATED, "us-letter" if system == "US" else "a4")
    from dashboard.report.html import html

    return html(report).encode("utf-8")


def check_suffix(path: Path) -> None:
    """Refuse a file that is to be neither PDF nor HTML, or whose folder is not there, before any work.

    Parameters
    ----------
    path : Path
        Where to write.

    Raises
    ------
    ValueError
        With the endings that are expected.
    FileNotFoundError
        Where there is no such folder.
    """
    if path.suffix.lower() not in SUFFIXES:
        raise ValueError(f"{path}: ends in {path.suffix or 'nothing'}; {' or '.join(SUFFIXES)} is expected")
    if not path.absolute().parent.is_dir():
        raise FileNotFoundError(ENOENT, strerror(ENOENT), str(path.parent))
