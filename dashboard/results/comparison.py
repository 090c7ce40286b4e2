"""An as-found visit beside the clean unit as figures, rows and sentences, for every screen and the report.

Level, loss and suspect readings are those of the visit's finding. A measured figure that a suspect reading
changes stands beside what the other readings support.
"""

from dataclasses import replace
from typing import Any, NamedTuple

from calibration.case.records import Visit
from calibration.case.units import CAPACITY, PERCENT, POWER, System
from calibration.clean_fit.prediction import Prediction
from calibration.costs.season_cost import SeasonFindings
from calibration.diagnosis.comparison import Comparison
from calibration.estimate import Estimate
from dashboard.results.costs.season_cost import season_columns
from dashboard.results.costs.winter import winter_clean_and_now
from dashboard.results.figures import Figure, figure, of_estimate, possible_ends, probability, signed, to_json
from dashboard.results.match import fit_sentence, loss_sentence, spanned, verdict_sentence
from dashboard.results.prediction import CHANGE_WORDS
from dashboard.results.suspect_readings import (
    performance_beside_supported,
    suspect_figures,
    suspect_sentences,
    suspects_json,
)
from dashboard.results.wording import in_a_sentence, words_of
from dashboard.texts.translate import tr

COMPARED = {
    "evaporating_temperature": "evaporating_temperature",
    "superheat": "superheat",
    "condensing_temperature": "condensing_temperature",
    "approach": "condensing_temperature",
    "subcooling": "subcooling",
    "net_capacity": "net_capacity",
    "gross_capacity": "gross_capacity",
    "sensible_capacity": "sensible_capacity",
    "latent_capacity": "latent_capacity",
    "outdoor_power": "outdoor_power",
    "total_power": "total_power",
    "eer": "eer",
}
"""Measured figures and the predicted ones they are laid beside."""


TILES = ("superheat", "subcooling", "approach", "net_capacity", "total_power", "eer")
"""Figures that a technician looks at first."""
LOST = {"net_capacity": "net_capacity_change", "total_power": "total_power_change", "eer": "eer_change"}
"""Those whose change is a loss of the finding, and its key."""


class NowAndClean(NamedTuple):
    """One figure as measured, as expected of the clean unit in the same weather, and the change."""

    now: Figure
    clean: Figure
    change: str
    change_range: str


def expected_figures(prediction: Prediction, visit: Visit, system: System) -> list[Figure]:
    """Predicted counterparts of a visit's measured figures, with 90 % ranges."""
    figures = []
    for key, name in COMPARED.items():
        one = prediction.estimate(name)
        value, ends = one.value, one.ends
        if key == "approach":
            value, ends = value - visit.outdoor_db, (ends[0] - visit.outdoor_db, ends[1] - visit.outdoor_db)
        figures.append(figure(key, value, system, interval=possible_ends(key, ends)))
    return figures


def measured_figures(comparison: Comparison, system: System) -> list[Figure]:
    """Measured performance; what a suspect reading changes beside what the others support."""
    return performance_beside_supported(comparison.measured, comparison.supported, system)


def comparison_columns(comparison: Comparison, system: System) -> list[tuple[str, list[Figure]]]:
    """Measured, expected clean and expected with the fouling found, the same figures in each."""
    finding = comparison.finding
    fouled = tr("{level} % of the face blocked", level=f"{100 * finding.blocked.value:.0f}")
    return [
        (tr("measured"), [one for one in measured_figures(comparison, system) if one.key in COMPARED]),
        (tr("clean unit, same weather"), expected_figures(comparison.clean, comparison.visit, system)),
        (
            fouled if finding.shows_condenser else tr("if it were fouling, {fouled}", fouled=fouled),
            expected_figures(comparison.fouled, comparison.visit, system),
        ),
    ]


def now_and_clean(comparison: Comparison, system: System) -> list[NowAndClean]:
    """The few figures to see first, each now, clean and with its change.

    The change of capacity, power and EER is the loss of the finding, over all explanations; that of the
    others is the difference of the two figures as they are shown.

    Parameters
    ----------
    comparison : Comparison
        A visit beside the clean unit.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of NowAndClean
        In the order of `TILES`, without figures that were not measured.
    """
    now = {one.key: one for one in measured_figures(comparison, system)}
    clean = {one.key: one for one in expected_figures(comparison.clean, comparison.visit, system)}
    lost = {one.key: one for one in loss_figures(comparison, system)}
    shown = []
    for key in TILES:
        if key not in now:
            continue
        if key in LOST:
            loss = lost[LOST[key]]
            change, ends = f"{signed(_number(loss), loss.decimals)} %", loss.interval_text
        else:
            digits = now[key].decimals
            difference = round(_number(now[key].best), digits) - round(_number(clean[key]), digits)
            change, ends = signed(difference, digits), ""
        shown.append(NowAndClean(now[key], clean[key], change, ends))
    return shown


def _number(one: Figure) -> float:
    return float(one.value or 0.0)


class CleanAndNow(NamedTuple):
    """A figure now over clean [%], both in words, and whether the range of the change excludes none."""

    label: str
    share: float
    text: str
    sure: bool


def clean_and_now(comparison: Comparison, season: SeasonFindings | None, system: System) -> list[CleanAndNow]:
    """What an owner sees of fouling, each over the clean unit in the same weather.

    Parameters
    ----------
    comparison : Comparison
        A visit beside the clean unit.
    season : SeasonFindings, optional
        For the electricity of a year.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of CleanAndNow
        Power, head pressure, electricity for the same cooling, and that of a year; of a heat pump also
        electricity for heating, backup heat with it where that is electric.
    """
    loss = comparison.finding.loss
    shown = []
    power = {one.now.key: one for one in now_and_clean(comparison, system)}.get("total_power")
    if power is not None:
        text = _beside_clean(power.now.best.text, power.clean)
        share = 100.0 * (1.0 + loss.power_share.value)
        shown.append(CleanAndNow(tr("Power drawn"), share, text, loss.power_share.excludes_zero))
    rows = [one for one in comparison.finding.rows if not one.derived]
    for row, (_, measured, clean, *_) in zip(rows, reading_rows(comparison, system), strict=True):
        if row.name == "liquid_pressure":
            text = _beside_clean(measured.best.text, clean)
            share = 100.0 * _number(measured.best) / _number(clean)
            shown.append(CleanAndNow(tr("Head pressure"), share, text, row.differs))
    more = loss.same_cooling_power
    needed = 100.0 * (1.0 + more.value / loss.clean_power.value)
    text = f"{needed - 100.0:+.0f} %"
    shown.append(CleanAndNow(tr("Electricity for the same cooling"), needed, text, more.excludes_zero))
    if season is not None:
        clean_year, held, _ = (
            {one.key: one for one in column} for _, column in season_columns(season, system)
        )
        energy, before = held["energy"], clean_year["energy"]
        share = 100.0 * (1.0 + _number(energy) / _number(before))
        text = _beside_clean(f"{_number(before) + _number(energy):,.0f}", before)
        words = (
            tr("Electricity in a year") if season.winter is None else tr("Electricity for cooling in a year")
        )
        shown.append(CleanAndNow(words, share, text, _excludes_zero(energy)))
        shown += [CleanAndNow(*row) for row in winter_clean_and_now(season, system)]
    return shown


def _beside_clean(now: str, clean: Figure) -> str:
    return tr("{now}, clean {clean}", now=f"{now} {clean.unit}", clean=f"{clean.text} {clean.unit}")


def _excludes_zero(one: Figure) -> bool:
    return (one.low or 0.0) > 0.0 or (one.high or 0.0) < 0.0


def reading_rows(comparison: Comparison, system: System) -> list[tuple[str, Figure, Figure, Figure, float]]:
    """Reading by reading: words, measured, clean, with the nearest fault, measured less clean [std errors].

    A suspect reading stands beside the value that the others support.
    """
    finding = comparison.finding
    pressure = comparison.visit.ambient_pressure
    rows = []
    for one in finding.rows:
        if one.derived:
            continue
        measured, clean, first = (
            figure(one.name, value, system, ambient_pressure=pressure)
            for value in (one.measured, one.clean, one.first)
        )
        suspect = finding.suspect(one.name)
        if suspect is not None:
            measured = replace(measured, supported=suspect_figures(suspect, comparison.visit, system)[1])
        rows.append((words_of(one.name, "visit"), measured, clean, first, one.standardised))
    return rows


def nearest_heading(comparison: Comparison) -> str:
    """Heading of the readings that the nearest fault would show."""
    return tr("with {fault}", fault=in_a_sentence(comparison.finding.nearest))


def level_figures(comparison: Comparison) -> list[Figure]:
    """Blocked share of the face and airflow lost, in % with 90 % ranges."""
    return [
        _level("condenser_blocked", tr("Face blocked"), comparison.finding.blocked),
        _level("condenser_airflow_lost", tr("Condenser airflow lost"), comparison.airflow_lost),
    ]


def _level(key: str, label: str, level: Estimate) -> Figure:
    return Figure(key, label, 100 * level.value, "%", 0, 100 * level.low, 100 * level.high)


def loss_figures(comparison: Comparison, system: System) -> list[Figure]:
    """What is lost in this weather over all explanations, in % and in the units shown."""
    loss = comparison.finding.loss
    changes = {
        "net_capacity": loss.capacity_share.times(-1.0),
        "gross_capacity": loss.coil_share.times(-1.0),
        "outdoor_power": loss.outdoor_power_share,
        "total_power": loss.power_share,
        "eer": loss.eer_share.times(-1.0),
    }
    shown = [
        of_estimate(f"{name}_change", tr(CHANGE_WORDS[name]), one, PERCENT, "SI")
        for name, one in changes.items()
    ]
    return [
        *shown,
        of_estimate("net_capacity_taken", tr("Capacity lost"), loss.capacity_lost, CAPACITY, system),
        of_estimate("total_power_taken", tr("Power added"), loss.power_added, POWER, system),
    ]


def sentences(comparison: Comparison, system: System) -> list[str]:
    """What the comparison says, in plain words."""
    finding = comparison.finding
    return [
        verdict_sentence(finding),
        face_sentence(comparison),
        fouling_sentence(comparison),
        loss_sentence(finding),
        fit_sentence(finding),
        *suspect_sentences(finding, system),
    ]


def face_sentence(comparison: Comparison) -> str:
    """Blocked face area, and the airflow that it loses."""
    blocked, lost = spanned(comparison.finding.blocked), spanned(comparison.airflow_lost)
    if not comparison.finding.shows_condenser:
        return tr(
            "If it were fouling: blocked face area of the condenser {blocked}, which loses "
            "{lost} of its airflow.",
            blocked=blocked,
            lost=lost,
        )
    return tr(
        "Blocked face area of the condenser {blocked}, which loses {lost} of its airflow.",
        blocked=blocked,
        lost=lost,
    )


def fouling_sentence(comparison: Comparison) -> str:
    """How probable a fouled condenser coil is, and whether it is claimed."""
    finding = comparison.finding
    share = probability(finding.probability_of_fouling)
    if finding.claims_fouling:
        return tr("A fouled condenser coil is {share} probable.", share=share)
    return tr("A fouled condenser coil is {share} probable: fouling is not established.", share=share)


def owner_sentences(comparison: Comparison) -> list[str]:
    """The finding for an owner: how much of the coil is blocked, and what that does in words of a bill."""
    finding = comparison.finding
    told = [
        tr("About {share} of the outdoor coil's face is blocked.", share=spanned(finding.blocked)),
        tr(
            "In the weather of the visit the unit gave {share} less cooling for the same "
            "electricity than with nothing wrong.",
            share=spanned(finding.loss.eer_share),
        ),
    ]
    if not finding.claims_fouling:
        told.append(tr("The readings do not establish that the coil is dirty."))
    return told


def comparison_json(comparison: Comparison, system: System) -> dict[str, Any]:
    """The comparison for `--json`."""
    finding = comparison.finding
    return {
        "visit": comparison.visit.label,
        "verdict": finding.verdict,
        "probability_of_fouling": round(finding.probability_of_fouling, 6),
        "nearest": finding.nearest,
        "suspect_readings": suspects_json(finding, system),
        "figures": {name: to_json(figures) for name, figures in _named_columns(comparison, system)},
        "readings": {
            measured.key: {
                "measured": measured.value,
                "clean": clean.value,
                "fault": fault.value,
                "unit": measured.unit,
                "standard_errors": round(score, 6),
            }
            for _, measured, clean, fault, score in reading_rows(comparison, system)
        },
        "severity": to_json(level_figures(comparison)),
        "losses": to_json(loss_figures(comparison, system)),
        "misfit": {
            "clean": round(finding.no_fault_chi_square, 6),
            "fault": round(finding.chi_square, 6),
            "readings": finding.readings,
        },
        "sentences": sentences(comparison, system),
    }


def _named_columns(comparison: Comparison, system: System) -> list[tuple[str, list[Figure]]]:
    columns = comparison_columns(comparison, system)
    return [
        (name, figures) for name, (_, figures) in zip(("measured", "clean", "fouled"), columns, strict=True)
    ]
