"""`coiltoll study agreement`: whether all outputs say the same about invented visits."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import typer

from dashboard.commands.options import JsonOption
from dashboard.commands.studies.causes import KeepOption

if TYPE_CHECKING:
    from pathlib import Path

    from calibration.case.records import Case
    from calibration.clean_fit.baseline import Baseline
    from calibration.diagnosis.finding import Finding
    from calibration.studies.true_cases import CleanUnit

VisitsOption = Annotated[int, typer.Option("--visits", min=1, help="How many invented visits to look at.")]
SeedOption = Annotated[int, typer.Option("--seed", min=0, help="Of the draws.")]
WholeOption = Annotated[
    int, typer.Option("--whole", min=1, help="Run the commands themselves on one visit of so many.")
]
COMMANDS = ("match", "compare", "measure", "season", "interval")
DRAWS = 8
"""Draws of season and interval: ranges are not what is compared."""
MOST_DRAWS = 20
"""Visits drawn until one is not refused."""
VISITS_A_UNIT = 5
"""Visits as found of each invented unit, whose clean fit they share, and the finding of its clean visit."""


def agreement(
    visits: VisitsOption = 500,
    seed: SeedOption = 20_261_129,
    whole: WholeOption = 50,
    keep: KeepOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put every output about invented visits with known faults side by side and count contradictions.

    The outputs are those of match, compare, measure, season, interval and report, made by the functions that
    make them for `--json`; now and then the commands themselves are run and must print the same. Compared are
    verdict, probability of fouling, suspect readings, fault level, loss and advice; no cost of fouling may be
    negative. A visit takes about two seconds.
    """
    import tempfile
    from pathlib import Path

    from calibration.case.file import read_case
    from dashboard.commands import arguments, terminal
    from dashboard.commands.studies.kept_visits import KeptVisits
    from dashboard.results.studies.agreement import contradictions, unlike_printed

    arguments.check_output(keep)
    kept = KeptVisits(keep, {"study": "agreement", "seed": seed}, dict, dict)
    invented: _Invented | None = None
    with tempfile.TemporaryDirectory() as folder, terminal.progress("comparing outputs") as progress, kept:
        for number in range(visits):
            if str(number) not in kept:
                unit, place = divmod(number, VISITS_A_UNIT)
                if invented is None or invented.number != unit:
                    invented = _invented(seed, unit, Path(folder))
                truth, path = _case_file([seed, unit, place], invented.drawn, Path(folder))
                outputs = outputs_of(read_case(path), invented.baseline, invented.known)
                found = contradictions(outputs)
                if number % whole == 0:
                    printed = {name: _printed(name, path) for name in COMMANDS}
                    found += unlike_printed(outputs, printed)
                kept[str(number)] = {"truth": truth, "found": found}
            progress((number + 1) / visits)
    chosen = [(number, kept[str(number)]) for number in range(visits)]
    rows = [[str(number), one["truth"], words] for number, one in chosen for words in one["found"]]
    if as_json:
        names = ("visit", "truth", "contradiction")
        listed = [dict(zip(names, row, strict=True)) for row in rows]
        terminal.print_json({"visits": visits, "seed": seed, "contradictions": listed})
        return
    if rows:
        terminal.print_table("Contradictions", ["visit", "truth", ""], rows)
    run = len(range(0, visits, whole))
    terminal.print_lines(
        f"{len(rows)} contradictions on {visits} invented visits, seed {seed}; 0 required.",
        f"On {run} of them the commands themselves were run too.",
    )


@dataclass(frozen=True)
class _Invented:
    """An invented unit: number, what it is, clean fit, and the finding of its clean visit by its label."""

    number: int
    drawn: "CleanUnit"
    baseline: "Baseline"
    known: "Mapping[str, Finding]"


def _invented(seed: int, unit: int, folder: "Path") -> _Invented:
    """What all visits of one invented unit have in common."""
    import numpy as np

    from calibration.case.file import read_case
    from calibration.clean_fit.baseline import baseline_of
    from calibration.diagnosis.finding import find
    from calibration.studies.true_cases import drawn_clean_unit

    drawn = drawn_clean_unit(np.random.default_rng([seed, unit]))
    case = read_case(_case_file([seed, unit, 0], drawn, folder)[1])
    baseline, (clean,) = baseline_of(case), case.clean_visits
    return _Invented(unit, drawn, baseline, {clean.label: find(case, clean, baseline=baseline)})


def _case_file(seeds: list[int], drawn: "CleanUnit", folder: "Path") -> "tuple[str, Path]":
    """What is really wrong at one visit of an invented unit, and a case file with the demo's season.

    A reading so wrong that the nameplate rules it out is refused with a sentence: another visit is drawn.
    """
    import datetime as dt
    from dataclasses import replace

    import numpy as np

    from calibration.case.errors import CaseError
    from calibration.case.file import read_case, write_case
    from calibration.diagnosis.hypotheses import hypotheses
    from calibration.studies.true_cases import found_case
    from dashboard.commands.demo import DEMO_CASE

    demo = read_case(DEMO_CASE)
    season = replace(demo.season, weather="bins") if demo.season is not None else None
    draw, path = np.random.default_rng(seeds), folder / "invented.toml"
    for _ in range(MOST_DRAWS):
        true = found_case(draw, drawn, hypotheses())
        clean = replace(true.clean, date=dt.date(2026, 4, 20))
        visit = replace(true.found, date=dt.date(2026, 8, 20))
        visits = (clean, visit)
        try:
            write_case(
                replace(demo, unit=true.description, visits=visits, season=season, source=None, id=""), path
            )
            read_case(path)
        except CaseError:
            continue
        return true.label, path
    raise RuntimeError(f"no visit that a case may hold was found in {MOST_DRAWS} draws")


def outputs_of(
    case: "Case", baseline: "Baseline", known: "Mapping[str, Finding] | None" = None
) -> dict[str, Any]:
    """Every output about a case's last visit as found, as `--json` has it, from one finding.

    Parameters
    ----------
    case : Case
        With a season and the price of a cleaning.
    baseline : Baseline
        The fitted clean unit.
    known : mapping of str to Finding, optional
        Findings of the case's clean visits, by their labels.

    Returns
    -------
    dict
        By command; of `measure` and `report` what belongs to the visit.

    Raises
    ------
    RuntimeError
        Where the case has no season.
    """
    from calibration.diagnosis.comparison import compare_visit
    from calibration.diagnosis.finding import find
    from calibration.diagnosis.visit_check import check_visit
    from dashboard.report.cost_sections import costs_of_visit
    from dashboard.report.findings import finding_points, findings_json, headline, visit_findings
    from dashboard.results.comparison import comparison_json
    from dashboard.results.costs.cleaning_advice import interval_json
    from dashboard.results.costs.season_cost import season_json
    from dashboard.results.match import match_json
    from dashboard.results.visit_check import check_json

    visit, system, currency = case.found_visits[-1], case.units, case.currency
    finding = find(case, visit, baseline=baseline)
    comparison = compare_visit(case, visit, baseline, finding)
    cost = costs_of_visit(case, baseline, finding, draws=DRAWS)
    if isinstance(cost, str) or cost.interval is None:
        raise RuntimeError(f"an invented visit has no cost: {cost}")
    findings = visit_findings(case, baseline, comparison, cost, known)
    check = check_json(check_visit(case, visit, baseline, finding), system)
    return {
        "match": {"matches": [match_json(finding, system, currency)]},
        "compare": {"comparisons": [comparison_json(comparison, system)]},
        "measure": {"visits": [{"label": visit.label, "check": check}]},
        "season": season_json(cost.season, system),
        "interval": interval_json(cost.interval, system),
        "report": findings_json(findings, comparison, system, currency)
        | {"words": [*headline(comparison), *finding_points(finding, system)]},
    }


def _printed(name: str, case: "Path") -> Any:
    """What a command prints with `--json`."""
    import contextlib
    import io
    import json

    from dashboard.cli import run

    draws = ["--draws", str(DRAWS)] if name in ("season", "interval") else []
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        status = run([name, str(case), "--json", *draws])
    if status != 0:
        raise RuntimeError(f"{name} ended with status {status} on an invented visit")
    return json.loads(printed.getvalue())
