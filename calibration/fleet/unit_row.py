"""One unit's row: what its last visit shows, what fouling costs it in a year, and when to clean.

Worked out in steps: what the clean visits say, for the others of the same nameplate; what the readings show;
and what follows from that in money and time. Between them the clean units, then the growth of all units of a
fleet are pooled; of one unit alone the last follows the second at once.

Every figure is that of the function that the commands for one unit call: the finding of
`calibration.diagnosis.finding`, the season and the recommendation of `calibration.costs.case_costs`. Where
one of them cannot be had, the row says why and keeps the others. Units of the columns: money in the case's
currency, kWh a year, shares as fractions.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

import numpy as np

from calibration.case.errors import CaseError
from calibration.case.file import parse_case
from calibration.case.records import Case
from calibration.clean_fit.baseline import Baseline, baseline_of
from calibration.clean_fit.kept_fit import fit_entry, kept_fit, visits_entry
from calibration.clean_fit.parameter_prior import PLAIN, ParameterPrior
from calibration.costs.case_costs import case_costs
from calibration.costs.cleaning_interval import IntervalFindings
from calibration.costs.fouling_shown import kept_entry, kept_fouling
from calibration.costs.growth_fit import LevelPoint, level_points
from calibration.costs.likely_growth import found_until
from calibration.costs.rate_prior import RatePrior
from calibration.costs.season_cost import SeasonFindings, cost_estimates
from calibration.diagnosis.finding import Finding, find
from calibration.diagnosis.first_reading import first_reading
from calibration.estimate import Estimate
from calibration.fleet.jobs import Job
from model.arrays import Array
from model.season.tariff import JOULES_PER_KWH
from model.season.weather_year import DAYS_PER_YEAR

WEEKS_AHEAD = 52
"""Weeks for which a row says what a cleaning then would save [-]."""
DIGITS = 10
"""Significant digits of a row's numbers: the same on any machine [-]."""


@dataclass(frozen=True)
class UnitRow:
    """One unit's results; None and empty where nothing can be said.

    Attributes
    ----------
    unit, site : str
        Names.
    verdict : str
        Of the last visit as found that counts today: "fault", "no_fault", "inconclusive", "none_of_these".
    probability_of_fouling : float
        Of the condenser's coil [-].
    level : float
        Blocked share of the condenser's face, supposing that its coil is fouled; where it was cleaned since,
        what has grown again [-].
    eer_lost : float
        At the visit's weather over all explanations [-].
    kwh_year, money_year : float
        What today's fouling, held for a year, adds [kWh, money]; only supposed where `if_fouled`.
    advice, clean_by : str
        What to do about the condenser, and the date of the next cleaning.
    next_reading : str
        Key of the reading that is worth taking next, with " again" where it was taken.
    problem : str
        Why something cannot be said.
    *_low, *_high : float
        90 % range.
    *_mean, *_sd : float
        Mean and standard deviation over all that the readings leave open, a clean coil among it: what adds up
        over units. The value without them is that of the most likely level, none where a clean coil is.
    exposure, refrigerant, currency : str
    if_fouled : bool
        Whether the readings point to something else, so that costs of fouling are only supposed.
    treatments : str
        What the finding claims is needed, joined by "; ".
    suspect_readings : str
        Keys of readings that are more probably wrong than right, joined by "; ".
    capacity_lost : float
        At the visit's weather [-].
    left_cost : float
        What the likeliest fault costs in a thousand hours of running, if it is there and left [money].
    visits : int
    last_visit, last_known_clean, as_of : str
        Dates.
    grown_level, grown_level_low, grown_level_high, years_since_clean : float
        Blocked share at the last visit as found after a known cleaning [-], and the time since [a].
    growth_rate, growth_rate_low, growth_rate_high : float
        Growth that the costs assume [1/a].
    winter_money_year : float
        The heating season's part of `money_year`, of a heat pump with heating figures [money].
    growth_from : str
        What that rests on.
    others_rate, others_rate_low, others_rate_high : float
        What the other units of the fleet say of it (`calibration.fleet.pooling`) [1/a].
    other_units, other_units_here : int
        How many these are, and how many of them at its site.
    other_units_alike : int
        Units of the same nameplate that its clean baseline rests on too (`calibration.fleet.alike`).
    probability_alike : float
        That it is what its nameplate says, by its own clean visits beside theirs [-].
    price, saving_now, worth_of_measuring : float
        Of a cleaning; what it saves today until the next planned one; most that measuring first may cost
        [money].
    saving_by_week : str
        What one cleaning in each of the 52 weeks from `as_of` saves until the day on which the unit would be
        cleaned anyway, joined by ";" [money].
    """

    unit: str
    site: str
    verdict: str = ""
    probability_of_fouling: float | None = None
    level: float | None = None
    eer_lost: float | None = None
    kwh_year: float | None = None
    money_year: float | None = None
    money_year_low: float | None = None
    money_year_high: float | None = None
    advice: str = ""
    clean_by: str = ""
    next_reading: str = ""
    problem: str = ""
    level_low: float | None = None
    level_high: float | None = None
    eer_lost_low: float | None = None
    eer_lost_high: float | None = None
    capacity_lost: float | None = None
    capacity_lost_low: float | None = None
    capacity_lost_high: float | None = None
    kwh_year_low: float | None = None
    kwh_year_high: float | None = None
    unmet_hours: float | None = None
    unmet_hours_low: float | None = None
    unmet_hours_high: float | None = None
    if_fouled: bool | None = None
    treatments: str = ""
    suspect_readings: str = ""
    left_cost: float | None = None
    exposure: str = ""
    refrigerant: str = ""
    currency: str = ""
    visits: int | None = None
    last_visit: str = ""
    as_of: str = ""
    last_known_clean: str = ""
    years_since_clean: float | None = None
    grown_level: float | None = None
    grown_level_low: float | None = None
    grown_level_high: float | None = None
    growth_rate: float | None = None
    growth_rate_low: float | None = None
    growth_rate_high: float | None = None
    price: float | None = None
    saving_now: float | None = None
    worth_of_measuring: float | None = None
    saving_by_week: str = ""
    growth_from: str = ""
    others_rate: float | None = None
    others_rate_low: float | None = None
    others_rate_high: float | None = None
    other_units: int | None = None
    other_units_here: int | None = None
    winter_money_year: float | None = None
    winter_money_year_low: float | None = None
    winter_money_year_high: float | None = None
    money_year_mean: float | None = None
    money_year_sd: float | None = None
    kwh_year_mean: float | None = None
    kwh_year_sd: float | None = None
    unmet_hours_mean: float | None = None
    unmet_hours_sd: float | None = None
    other_units_alike: int | None = None
    probability_alike: float | None = None


COLUMNS = tuple(entry.name for entry in fields(UnitRow))
"""Columns of the table of results, in their order."""


SHOWN, POINTS, GIVEN, FIT, ALONE = "shown", "points", "given_rate", "fit", "visits_alone"
"""Entries of a row of the first look that are no columns: what each visit shows, levels since cleanings with
their dates, the growth rate that the case gives [1/a], the clean fit where every visit could be judged. The
last is of the step before that: what the clean visits say."""


def row_of_job(job: Job) -> dict[str, Any]:
    """Row of one unit: of its clean visits, of its readings, or of all that follows once they were looked at.

    Parameters
    ----------
    job : Job
        What a worker is sent.

    Returns
    -------
    dict
        Values by column; at first with entries for the second step where there is one.
    """
    names: dict[str, Any] = {"unit": job.unit, "site": job.site, "exposure": job.exposure}
    if not job.text:
        return vars(UnitRow(**names, problem=job.problem or "there is no row without a fault"))
    try:
        case = parse_case(job.text)
    except CaseError as error:
        more = f", and {len(error.problems) - 1} more" if len(error.problems) > 1 else ""
        return vars(UnitRow(**names, problem=f"{error.problems[0]}{more}"))
    case = replace(case, source=Path(job.folder, "case.toml"))
    if job.clean_only:
        return names | {ALONE: visits_entry(baseline_of(case))}
    today = dt.date.fromisoformat(job.today) if job.today else None
    alike = PLAIN if job.alike is None else job.alike
    if job.look is None:
        row = shown_row(case, today, alike) | names
        return row | {"problem": _together(job.problem, row["problem"])}
    return costed_row(case, today, job.look.row, job.look.prior, alike)


def _together(*problems: str) -> str:
    """Problems in one cell, each once."""
    each = [one for some in problems for one in some.split("; ") if one]
    return "; ".join(dict.fromkeys(each))


def unit_row(case: Case, today: dt.date | None = None) -> UnitRow:
    """Row of one case alone.

    Parameters
    ----------
    case : Case
    today : date, optional
        Left out, the date of the last visit.

    Returns
    -------
    UnitRow
    """
    row = costed_row(case, today, shown_row(case, today))
    return UnitRow(**{name: row[name] for name in COLUMNS if name in row})


def shown_row(case: Case, today: dt.date | None = None, alike: ParameterPrior = PLAIN) -> dict[str, Any]:
    """What the readings of a case show.

    Parameters
    ----------
    case : Case
    today : date, optional
        Left out, the date of the last visit.
    alike : ParameterPrior
        What other units of its nameplate show of the clean unit.

    Returns
    -------
    dict
        Values by column, and entries for `costed_row`.
    """
    baseline = baseline_of(case, alike)
    last, findings, problems = _findings(case, baseline, today)
    dates = [visit.date for visit in case.visits if visit.date is not None]
    row: dict[str, Any] = {
        "unit": case.unit.name,
        "site": case.unit.site,
        "exposure": case.unit.exposure,
        "refrigerant": case.unit.refrigerant,
        "currency": case.currency,
        "visits": len(case.visits),
        "last_visit": max(dates).isoformat() if dates else "",
        "problem": "; ".join(problems),
    }
    if last in findings:
        row |= _finding_columns(findings[last]) | _grown_columns(case, findings[last])
    points = level_points(case, tuple(findings.values()))
    plain = {name: _plain(value) for name, value in row.items()}
    return plain | {
        FIT: fit_entry(baseline) if set(findings) >= set(_found_labels(case, today)) else None,
        GIVEN: case.cleaning.growth_rate if case.cleaning is not None else None,
        SHOWN: [kept_entry(one) for one in findings.values()],
        POINTS: [vars(one) | {"cleaned": str(one.cleaned), "found": str(one.found)} for one in points],
    }


def points_of_row(row: Mapping[str, Any]) -> list[LevelPoint]:
    """Levels since cleanings that a row of the first step holds.

    Parameters
    ----------
    row : mapping
        Of `shown_row`.

    Returns
    -------
    list of LevelPoint
    """
    return [
        LevelPoint(**entry | {name: dt.date.fromisoformat(str(entry[name])) for name in ("cleaned", "found")})
        for entry in row.get(POINTS, ())
    ]


def costed_row(
    case: Case,
    today: dt.date | None,
    shown: Mapping[str, Any],
    prior: RatePrior | None = None,
    alike: ParameterPrior = PLAIN,
) -> dict[str, Any]:
    """Row of a case whose readings were looked at.

    Parameters
    ----------
    case : Case
    today : date or None
        None for the date of the last visit.
    shown : mapping
        Of `shown_row` of the same.
    prior : RatePrior, optional
        What other units of a fleet show of its growth.
    alike : ParameterPrior
        What others of its nameplate show of the clean unit, as its readings were looked at.

    Returns
    -------
    dict
        Values by column.
    """
    empty = vars(UnitRow("", ""))
    row = empty | {name: value for name, value in shown.items() if name in COLUMNS}
    problems = [str(row["problem"])]
    kept = {entry["visit"]: kept_fouling(case, entry) for entry in shown[SHOWN]}
    try:
        fit = shown.get(FIT)
        baseline = baseline_of(case, alike) if fit is None else kept_fit(case, fit)
        costs = case_costs(case, baseline, today, findings=kept, prior=prior)
    except ValueError as error:
        return row | {"problem": _together(*problems, _one_sentence(error))}
    if costs.season.unit.finding is None:
        row |= {name: empty[name] for name in FOUND}
    added = _season_columns(costs.season)
    if costs.interval is None or costs.recommendation is None:
        problems.append("no price of a cleaning is given, so there is no advice on when to clean")
    else:
        added |= {
            "advice": costs.recommendation.advice,
            "clean_by": costs.recommendation.date.isoformat() if costs.recommendation.date else "",
            "saving_now": costs.recommendation.saving,
            **_cleaning_columns(costs.interval),
        }
    if costs.season.unit.finding is not None:
        added |= {name: row[name] for name in ("level", "level_low", "level_high")}
    plain = {name: _plain(value) for name, value in added.items()}
    return row | plain | {"problem": _together(*problems)}


def _one_sentence(error: ValueError) -> str:
    return str(error).splitlines()[0] if str(error) else type(error).__name__


def _plain(value: Any) -> Any:
    """A value as it is written: numbers with `DIGITS` digits, none that is not finite."""
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}") + 0.0 if np.isfinite(value) else None  # + 0.0: no minus zero
    return value


def _findings(
    case: Case, baseline: Baseline, today: dt.date | None
) -> tuple[str, dict[str, Finding], list[str]]:
    """Label of the last visit as found until today, findings of all of them, and why there is none of it."""
    labels = _found_labels(case, today)
    if not labels:
        return "", {}, ["there is no visit as found"]
    findings, problems = {}, []
    for label in labels:
        try:
            findings[label] = find(case, case.visit(label), baseline=baseline)
        except ValueError as error:
            problems = [_one_sentence(error)] if label == labels[-1] else []
    return labels[-1], findings, problems


def _found_labels(case: Case, today: dt.date | None) -> list[str]:
    """Labels of the visits as found until today, in order of time; the last one where nothing has a date."""
    dates = [visit.date for visit in case.visits if visit.date is not None]
    labels = [label for _, label in found_until(case, today or max(dates, default=dt.date.max))]
    return labels if dates or today else labels[-1:]


def _finding_columns(finding: Finding) -> dict[str, Any]:
    """What a visit shows."""
    reading = first_reading(finding)
    left = finding.stakes.left_cost
    return {
        "verdict": finding.verdict,
        "probability_of_fouling": finding.probability_of_fouling,
        **_spanned("level", finding.blocked),
        **_spanned("eer_lost", finding.loss.eer_share),
        **_spanned("capacity_lost", finding.loss.capacity_share),
        "treatments": "; ".join(finding.claimed),
        "suspect_readings": "; ".join(one.reading for one in finding.suspects if one.is_suspect),
        "next_reading": "" if reading is None else f"{reading.reading}{' again' if reading.again else ''}",
        "left_cost": None if left is None or finding.verdict != "fault" else left.value,
    }


FOUND = frozenset(
    (
        *("verdict", "probability_of_fouling", "treatments", "suspect_readings", "next_reading", "left_cost"),
        *("last_known_clean", "years_since_clean"),
        *(
            f"{name}{end}"
            for name in ("level", "eer_lost", "capacity_lost", "grown_level")
            for end in ("", "_low", "_high")
        ),
    )
)
"""Columns of a finding, which a cleaning after its visit takes back."""


def _spanned(name: str, span: Estimate) -> dict[str, float]:
    return {name: span.value, f"{name}_low": span.low, f"{name}_high": span.high}


def _season_columns(season: SeasonFindings) -> dict[str, Any]:
    """What today's fouling costs in a year, and the growth that this rests on."""
    likely, spread = season.today, cost_estimates(season.today_drawn)
    unit, winter = season.unit, season.winter
    money, energy = season.year_money, season.year_energy
    low, high = (float(end) for end in np.quantile(unit.levels, [0.05, 0.95]))
    rates = np.atleast_1d(np.asarray(unit.growths.rate, dtype=float))
    return {
        **_ranged("kwh_year", energy.value, energy, 1.0 / JOULES_PER_KWH),
        **_ranged("money_year", money.value, money),
        **(
            {}
            if winter is None
            else _ranged(
                "winter_money_year", winter.today_money, winter.estimates(winter.today_drawn)["money"]
            )
        ),
        **_ranged("unmet_hours", float(likely.short_hours.sum()), spread["short_hours"]),
        **_moments("money_year", season.year_money_drawn),
        **_moments("kwh_year", season.year_energy_drawn / JOULES_PER_KWH),
        **_moments("unmet_hours", season.today_drawn.short_hours.sum(axis=1)),
        "if_fouled": unit.if_fouled,
        "level": unit.level,
        "level_low": low,
        "level_high": high,
        "as_of": unit.today.isoformat(),
        "growth_from": str(unit.growth_from),
        "growth_rate": float(np.asarray(unit.growth.rate)),
        "growth_rate_low": float(np.quantile(rates, 0.05)),
        "growth_rate_high": float(np.quantile(rates, 0.95)),
    }


def _ranged(name: str, value: float, spread: Estimate, factor: float = 1.0) -> dict[str, float]:
    """A most likely value and the range of its draws, wide enough to hold it."""
    low, high = min(spread.low, value), max(spread.high, value)
    return {name: value * factor, f"{name}_low": low * factor, f"{name}_high": high * factor}


def _moments(name: str, drawn: Array) -> dict[str, float]:
    """Mean and standard deviation of draws."""
    return {f"{name}_mean": float(np.mean(drawn)), f"{name}_sd": float(np.std(drawn))}


def _cleaning_columns(found: IntervalFindings) -> dict[str, Any]:
    """Price and worth of a cleaning, week by week from today."""
    days = (found.saving.day - found.saving.day[0]) % DAYS_PER_YEAR
    weeks = np.interp(7.0 * np.arange(WEEKS_AHEAD), days, found.saving.saving)
    return {
        "price": found.cleaning.price,
        "worth_of_measuring": found.measuring.worth_of_measuring,
        "saving_by_week": ";".join(f"{value:.2f}" for value in weeks),
    }


def _grown_columns(case: Case, finding: Finding) -> dict[str, Any]:
    """How far the coil has fouled since it was last known to be clean."""
    found = finding.visit.date
    clean = [visit.date for visit in case.clean_visits if visit.date is not None]
    if case.cleaning is not None and case.cleaning.last_cleaned is not None:
        clean.append(case.cleaning.last_cleaned)
    before = [date for date in clean if found is not None and date < found]
    if found is None or not before:
        return {}
    known = {"last_known_clean": max(before).isoformat()}
    if not finding.shows_condenser:
        return known
    years = (found - max(before)).days / DAYS_PER_YEAR
    return {**known, "years_since_clean": years, **_spanned("grown_level", finding.blocked)}
