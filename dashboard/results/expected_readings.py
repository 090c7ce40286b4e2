"""Every reading of a visit beside what the unit would show without fault and with the likeliest faults."""

from dataclasses import replace
from math import exp
from typing import Any

from calibration.case.units import System
from calibration.diagnosis.finding import Finding
from calibration.diagnosis.reading_rows import ExpectedRow
from dashboard.results.figures import Figure, figure, signed
from dashboard.results.wording import explanation, in_a_sentence, words_of
from dashboard.texts.translate import tr

LITTLE_WEIGHT = 0.1
"""A reading that moves the odds by less is no evidence worth a word (logarithm of odds)."""
MOST_TIMES, LARGEST_WEIGHT = 1000.0, 20.0
"""Factors of the odds beyond the first are not told apart; the second keeps their logarithm finite."""


def expected_figures(finding: Finding, system: System) -> list[tuple[ExpectedRow, list[Figure]]]:
    """Each row with its figures: measured, without fault, with the nearest fault, with the second.

    Parameters
    ----------
    finding : Finding
        Of one visit.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of (ExpectedRow, list of Figure)
        The measured figure of a suspect reading, or of what follows from one, carries the supported one.
    """
    pressure = finding.visit.ambient_pressure
    shown = []
    for row in finding.rows:
        measured, *expected = [
            figure(row.name, value, system, ambient_pressure=pressure)
            for value in (row.measured, row.clean, row.first, row.second)
            if value is not None
        ]
        if row.supported is not None:
            other = figure(row.name, row.supported, system, ambient_pressure=pressure)
            measured = replace(measured, supported=other)
        shown.append((row, [measured, *expected]))
    return shown


def expected_table(finding: Finding, system: System) -> tuple[list[str], list[list[str]]]:
    """Headings and rows of every reading beside what it would be.

    An arrow says which way the number lies from that of the unit without fault.

    Parameters
    ----------
    finding : Finding
        Of one visit.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    headings, rows : list of str, list of list of str
        Suspect readings are `Struck`.
    """
    nearest, second = (explanation(key) for key in (finding.nearest, finding.second))
    headings = ["", tr("measured"), tr("no fault"), nearest, second, tr("off, standard errors")]
    headings += [tr("evidence")] if weighs_readings(finding) else []
    rows = []
    for row, shown in expected_figures(finding, system):
        expected = [one.text for one in shown[1:]]
        arrows = ("", row.first_arrow, row.second_arrow)
        moved = [f"{one} {arrow}".rstrip() for one, arrow in zip(expected, arrows, strict=False)]
        read = shown[0].cell if row.supported is not None else f"{shown[0].text} {row.arrow}"
        cells = [shown[0].heading, read, *moved, signed(row.standardised, 1)]
        if weighs_readings(finding):
            cells.append("" if row.weight is None else signed(row.weight, 1))
        rows.append(cells)
    return headings, rows


def weighs_readings(finding: Finding) -> bool:
    """Whether the evidence of each reading is shown: it needs a fault that fits and no suspect reading."""
    return finding.verdict != "none_of_these" and not any(one.is_suspect for one in finding.suspects)


def table_note(finding: Finding) -> str:
    """How the table is to be read, in one sentence or two."""
    if not weighs_readings(finding):
        return tr("Off: measured less no fault.")
    first, rival = in_a_sentence(finding.nearest), in_a_sentence(finding.rival)
    return tr(
        "Off: measured less no fault. Evidence: natural logarithm of the odds that a reading "
        "adds for {first} over {rival}.",
        first=first,
        rival=rival,
    )


def evidence_sentences(finding: Finding) -> list[str]:
    """The readings that are the strongest evidence for the nearest fault, and against it.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    list of str
        Empty where no fault fits, or a reading is suspect.
    """
    rows = [row for row in finding.rows if row.weight is not None]
    if not rows or not weighs_readings(finding) or finding.verdict == "no_fault":
        return []
    first, rival = in_a_sentence(finding.nearest), in_a_sentence(finding.rival)
    most, least = max(rows, key=_weight), min(rows, key=_weight)
    said = []
    if _weight(most) > LITTLE_WEIGHT:
        said.append(
            tr(
                "Strongest evidence for {first} over {rival}: {reading} (odds {odds}).",
                first=first,
                rival=rival,
                reading=words_of(most.name).lower(),
                odds=_odds(_weight(most)),
            )
        )
    if _weight(least) < -LITTLE_WEIGHT:
        said.append(
            tr(
                "Strongest evidence against: {reading} (odds {odds}).",
                reading=words_of(least.name).lower(),
                odds=_odds(_weight(least)),
            )
        )
    return said


def _weight(row: ExpectedRow) -> float:
    return row.weight or 0.0


def _odds(weight: float) -> str:
    times = exp(min(abs(weight), LARGEST_WEIGHT))
    shown = f"{times:.1f}" if times < 10 else f"{times:,.0f}" if times < MOST_TIMES else tr("over 1,000")
    return tr("times {shown}", shown=shown) if weight > 0 else tr("divided by {shown}", shown=shown)


def expected_json(finding: Finding, system: System) -> dict[str, Any]:
    """The same rows for `--json`.

    Parameters
    ----------
    finding : Finding
        Of one visit.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    dict
        By key of the reading or figure.
    """
    return {row.name: _row_json(row, shown) for row, shown in expected_figures(finding, system)}


def _row_json(row: ExpectedRow, shown: list[Figure]) -> dict[str, Any]:
    names = ("measured", "clean", "first", "second")
    return {
        **{name: one.value for name, one in zip(names, shown, strict=False)},
        "unit": shown[0].unit,
        "derived": row.derived,
        "standard_errors": round(row.standardised, 6),
        "first_standard_errors": None if row.first_standardised is None else round(row.first_standardised, 6),
        "arrows": [row.arrow, row.first_arrow, row.second_arrow],
        "weight": None if row.weight is None else round(row.weight, 6),
    }
