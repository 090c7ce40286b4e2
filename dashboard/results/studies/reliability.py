"""Studies of readings, 90 % ranges and visits as rows, sentences and JSON."""

from collections.abc import Sequence
from typing import Any

from calibration.case.keys import words_of
from calibration.studies.coverage import Coverage
from calibration.studies.foreign.found_ranges import QUANTITIES as FOUND
from calibration.studies.foreign.found_ranges import WANTED_FOREIGN, FoundRanges
from calibration.studies.laboratory import QUANTITIES
from calibration.studies.readings import (
    ERRORS,
    FALSE_WANTED,
    FIRST_WANTED,
    INNOCENT_WANTED,
    ReadingsStudy,
    share_placed,
)
from calibration.studies.season_coverage import SeasonCoverage
from calibration.studies.visits import ABSOLUTE, WIDTHS, VisitsStep

READINGS_HEADINGS = ("reading", "error", "named first", "within first two", "any reading suspect")
COVERAGE_HEADINGS = (
    "figure",
    "90 % ranges that contain the true value",
    "mean standard error",
    "root mean square error",
)
FOUND_HEADINGS = (
    "what the finding says",
    "90 % ranges that contain the true value",
    "of visits with a fault",
    "mean width there",
    "root mean square error there",
)
FOUND_WORDS = {
    "level": "level, over the largest",
    "eer": "EER lost",
    "capacity": "capacity lost",
    "power": "power added",
}
IN_KELVIN = ("superheat", "subcooling")


def readings_rows(study: ReadingsStudy) -> list[tuple[str, ...]]:
    """Cells under `READINGS_HEADINGS`, one row an error, all errors together last."""
    rows: list[tuple[str, ...]] = []
    for error in ERRORS:
        trials = study.of(error)
        raised = sum(bool(trial.suspects) for trial in trials) / len(trials)
        rows.append(
            (
                words_of(error.reading),
                error.words,
                f"{share_placed(trials, 1):.0%}",
                f"{share_placed(trials, 2):.0%}",
                f"{raised:.0%}",
            )
        )
    rows.append(("all", "", f"{study.first:.1%}", f"{study.first_two:.1%}", f"{study.raised:.1%}"))
    return rows


def readings_sentences(study: ReadingsStudy) -> list[str]:
    """Shares beside what is required, in plain words."""
    return [
        f"The wrong reading is the first suspect in {study.first:.1%} of {len(study.trials)} cases "
        f"({FIRST_WANTED:.0%} required). A reading without an error is suspect in {study.innocent:.1%} "
        f"(at most {INNOCENT_WANTED:.0%} required).",
        f"False alarms on {len(study.untouched)} untouched tests: {study.false_alarms:.1%} "
        f"(at most {FALSE_WANTED:.0%} required).",
        "All requirements are met." if study.met else "Not all requirements are met.",
    ]


def readings_json(study: ReadingsStudy) -> dict[str, Any]:
    """The study of readings for `--json`."""
    return {
        "trials": [
            {
                "test": trial.test,
                "reading": trial.error.reading if trial.error else None,
                "error": trial.error.words if trial.error else None,
                "place": trial.place,
                "suspects": list(trial.suspects),
            }
            for trial in (*study.trials, *study.untouched)
        ],
        "first": round(study.first, 6),
        "first_two": round(study.first_two, 6),
        "innocent": round(study.innocent, 6),
        "named": round(study.named, 6),
        "raised": round(study.raised, 6),
        "false_alarms": round(study.false_alarms, 6),
        "met": study.met,
    }


def coverage_rows(study: Coverage, kind: str) -> list[tuple[str, ...]]:
    """Cells under `COVERAGE_HEADINGS`, one row a figure."""
    return [
        (
            words_of(name),
            f"{share:.1%}",
            _wide(name, study.widths[kind][name]),
            _wide(name, study.errors[kind][name]),
        )
        for name, share in study.shares[kind].items()
    ]


def _wide(name: str, value: float) -> str:
    return f"{value:.2f} K" if name in IN_KELVIN else f"{value:.1%}"


def coverage_sentences(study: Coverage) -> list[str]:
    """What was drawn, and whether the shares of a full visit meet the requirement."""
    low, high = study.wanted
    return [
        f"{study.units} invented units of {study.truth}, {study.predictions} predictions of each figure at "
        "other weather.",
        f"Required of a full visit: {low:.0%} to {high:.0%} of the 90 % ranges. "
        + ("All figures are within." if study.met else "Not all figures are within."),
    ]


def coverage_json(study: Coverage) -> dict[str, Any]:
    """The study of 90 % ranges for `--json`."""

    def rounded(table: dict[str, dict[str, float]]) -> dict[str, dict[str, float]]:
        return {kind: {name: round(value, 6) for name, value in row.items()} for kind, row in table.items()}

    return {
        "units": study.units,
        "predictions": study.predictions,
        "shares": rounded(study.shares),
        "standard_errors": rounded(study.widths),
        "root_mean_square_errors": rounded(study.errors),
        "wanted": list(study.wanted),
        "met": study.met,
    }


def found_rows(study: FoundRanges) -> list[tuple[str, ...]]:
    """Cells under `FOUND_HEADINGS`, one row a quantity."""
    return [
        (
            FOUND_WORDS[name],
            f"{study.share(name, False):.0%}",
            f"{study.share(name, True):.0%}",
            f"{study.width(name, True):.1%}",
            f"{study.error(name, True):.1%}",
        )
        for name in FOUND
        if study.wrong[name].any()
    ]


def found_sentences(study: FoundRanges) -> list[str]:
    """What was drawn, and whether the shares of all visits meet the requirement."""
    low, high = WANTED_FOREIGN
    return [
        f"{study.visits} invented visits to units of {study.truth}, {study.faulty} with a fault, which is "
        f"among those shown in {study.shown:.0%}.",
        f"Required of all visits: {low:.0%} to {high:.0%} of the 90 % ranges. "
        + ("All are within." if study.met else "Not all are within."),
    ]


def found_json(study: FoundRanges) -> dict[str, Any]:
    """Ranges of level and loss for `--json`; shares and widths of visits with a fault."""
    kept = [name for name in FOUND if study.wrong[name].any()]
    return {
        "visits": study.visits,
        "faulty": study.faulty,
        "shown": round(study.shown, 6),
        "shares_of_all": {name: round(study.share(name, False), 6) for name in kept},
        "shares": {name: round(study.share(name, True), 6) for name in kept},
        "widths": {name: round(study.width(name, True), 6) for name in kept},
        "root_mean_square_errors": {name: round(study.error(name, True), 6) for name in kept},
        "wanted": list(WANTED_FOREIGN),
        "met": study.met,
    }


SEASON_COVERAGE_HEADINGS = (
    "load",
    "figure of a year",
    "90 % ranges that contain the true value",
    "mean width of the range",
)


def season_coverage_rows(study: SeasonCoverage) -> list[tuple[str, ...]]:
    """Cells under `SEASON_COVERAGE_HEADINGS`, one row a figure of each kind of load."""
    return [
        (source, name, f"{share:.1%}", f"{study.widths[source][name]:.0%}")
        for source, by_name in study.shares.items()
        for name, share in by_name.items()
    ]


def season_coverage_json(study: SeasonCoverage) -> dict[str, Any]:
    """The study of years for `--json`."""
    return {"units": study.units, "shares": study.shares, "widths": study.widths}


def visits_error_rows(steps: Sequence[VisitsStep]) -> list[tuple[str, ...]]:
    """One row a figure, one column a set of fitted tests; all over what is required of them last."""
    rows: list[tuple[str, ...]] = [
        (
            quantity.name.replace("_", " ") + (f" [{quantity.unit}]" if quantity.unit else ""),
            *(f"{step.errors[quantity.name]:.{3 if not quantity.unit else 2}f}" for step in steps),
        )
        for quantity in QUANTITIES
    ]
    rows.append(("all, over the requirement of each", *(f"{step.overall:.3f}" for step in steps)))
    return rows


def visits_width_rows(steps: Sequence[VisitsStep]) -> list[tuple[str, ...]]:
    """One row a figure, one column a set of fitted tests."""
    return [
        (
            words_of(name),
            *(
                f"{step.widths[name]:.2f} K" if name in ABSOLUTE else f"{step.widths[name]:.1%}"
                for step in steps
            ),
        )
        for name in WIDTHS
    ]


def visits_json(steps: Sequence[VisitsStep]) -> dict[str, Any]:
    """What more visits bring for `--json`."""
    return {
        "steps": [
            {
                "fitted": list(step.fitted),
                "errors": {name: round(value, 6) for name, value in step.errors.items()},
                "overall": round(step.overall, 6),
                "widths": {name: round(value, 6) for name, value in step.widths.items()},
            }
            for step in steps
        ]
    }
