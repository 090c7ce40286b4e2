"""Suspect readings of a finding: each beside the value that the other readings support, on every screen.

A reading that is more probably wrong than right is suspect: it is shown struck through, the supported value
beside it. Readings that may be wrong, but probably are not, are named only.
"""

from typing import Any

from calibration.case.records import Visit
from calibration.case.units import System
from calibration.diagnosis.finding import LISTED, Finding, Judgement, Suspect
from calibration.measured.performance import MeasuredPerformance
from dashboard.results.figures import Figure, Struck, figure, probability, with_supported
from dashboard.results.performance import performance_figures, reading_figures
from dashboard.results.wording import CHECKS, words_of
from dashboard.texts.translate import tr, tr_many

HEADINGS = ("", "read", "90 % range of the others", "probably wrong")


def suspect_figures(one: Suspect, visit: Visit, system: System) -> tuple[Figure, Figure]:
    """A reading as it was read, and as the others support it with its 90 % range.

    Parameters
    ----------
    one : Suspect
        Of the visit's finding.
    visit : Visit
        For the barometric pressure of gauge readings.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    tuple of Figure
        Read and supported.
    """
    pressure = visit.ambient_pressure
    return (
        figure(one.reading, one.read, system, ambient_pressure=pressure),
        figure(one.reading, one.supported, system, interval=(one.low, one.high), ambient_pressure=pressure),
    )


def readings_beside_supported(visit: Visit, finding: Judgement | None, system: System) -> list[Figure]:
    """Readings of a visit as they were taken, suspect ones beside the supported value.

    Parameters
    ----------
    visit : Visit
    finding : Judgement or None
        Of this visit; None where there is none.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of Figure
        In the order of the case file.
    """
    read = reading_figures(visit, system)
    if finding is None:
        return read
    supported = [suspect_figures(one, visit, system)[1] for one in finding.suspects if one.is_suspect]
    return with_supported(read, supported)


def performance_beside_supported(
    measured: MeasuredPerformance, supported: MeasuredPerformance, system: System
) -> list[Figure]:
    """Measured performance, figures that follow from a suspect reading beside those from the supported one.

    Parameters
    ----------
    measured, supported : MeasuredPerformance
        Of the visit as read and of `Finding.visit_as_supported`.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of Figure
        In the order of `dashboard.results.performance.performance_figures`.
    """
    return with_supported(performance_figures(measured, system), performance_figures(supported, system))


def suspect_rows(finding: Judgement, system: System) -> list[tuple[str, str, str, str]]:
    """Suspect readings as rows under `HEADINGS`.

    Parameters
    ----------
    finding : Judgement
        Of one visit.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of tuple of str
        Empty where no reading is suspect.
    """
    rows: list[tuple[str, str, str, str]] = []
    for one in finding.suspects:
        if one.is_suspect:
            read, supported = suspect_figures(one, finding.visit, system)
            shown = Struck(read.text, supported.text)
            rows.append((read.heading, shown, supported.interval_text, probability(one.probability)))
    return rows


def suspect_sentences(finding: Judgement, system: System) -> list[str]:
    """What was read, what the others support, and what to look at; a sentence or two for each reading.

    Parameters
    ----------
    finding : Judgement
        Of one visit.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of str
        Suspect readings first; empty where all are consistent.
    """
    said = []
    for one in finding.suspects:
        read, supported = suspect_figures(one, finding.visit, system)
        how = tr("is suspect") if one.is_suspect else tr("may be wrong")
        said.append(
            tr(
                "{reading} {how} ({probability}): {read_text} {read_unit} was read, the other "
                "readings support {supported_text} {supported_unit} ({supported_interval_text}). "
                "Measure it again: {check}.",
                reading=words_of(one.reading),
                how=how,
                probability=probability(one.probability),
                read_text=read.text,
                read_unit=read.unit,
                supported_text=supported.text,
                supported_unit=supported.unit,
                supported_interval_text=supported.interval_text,
                check=tr(CHECKS[one.reading]),
            )
        )
    return said


def check_sentences(finding: Judgement, system: System) -> list[str]:
    """What to look at on each suspect reading of a table; in full where a reading only may be wrong.

    Parameters
    ----------
    finding : Judgement
        Of one visit.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of str
        Empty where all readings are consistent.
    """
    return [
        tr(
            "{reading}: measure it again; {check}.",
            reading=words_of(one.reading),
            check=tr(CHECKS[one.reading]),
        )
        if one.is_suspect
        else said
        for one, said in zip(finding.suspects, suspect_sentences(finding, system), strict=True)
    ]


def suspects_json(finding: Judgement, system: System) -> dict[str, Any]:
    """Readings that may be wrong, from a probability of `LISTED` on, for `--json`.

    Parameters
    ----------
    finding : Judgement
        Of one visit.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    dict
        By key of the reading, the most probably wrong first; values in the unit that is named.
    """
    shown = {}
    for one in finding.suspects:
        read, supported = suspect_figures(one, finding.visit, system)
        shown[one.reading] = {
            "probability": round(one.probability, 6),
            "suspect": one.is_suspect,
            "read": read.value,
            "supported": supported.value,
            "low": supported.low,
            "high": supported.high,
            "unit": read.unit,
            "check": CHECKS[one.reading],
        }
    return shown


def brief_suspects(finding: Judgement) -> str:
    """Suspect readings by name in one sentence; else those that may be wrong, or that there are none.

    Parameters
    ----------
    finding : Judgement
        Of one visit.

    Returns
    -------
    str
        Such as "Suspect reading: liquid pipe."
    """
    suspect = [words_of(one.reading).lower() for one in finding.suspects if one.is_suspect]
    if suspect:
        return tr_many(
            "Suspect reading: {readings}.",
            "Suspect readings: {readings}.",
            len(suspect),
            readings=tr(" and ").join(suspect),
        )
    open_ones = [
        f"{words_of(one.reading).lower()} ({probability(one.probability)})"
        for one in finding.suspects
        if one.probability >= LISTED
    ]
    if open_ones:
        return tr("Possibly wrong: {readings}.", readings=tr(" and ").join(open_ones))
    if finding.verdict == "none_of_these":
        return tr("No single suspect reading explains the visit.")
    return tr("All readings are consistent.")


def cost_readings(finding: Finding | None) -> list[str]:
    """The same beside costs and dates that rest on a visit.

    Parameters
    ----------
    finding : Finding or None
        Of that visit; None where they rest on none.

    Returns
    -------
    list of str
        One entry; empty where no reading may be wrong.
    """
    if finding is None or not finding.suspects:
        return []
    rest = any(one.is_suspect for one in finding.suspects)
    return [brief_suspects(finding) + (tr(" Costs and dates rest on the other readings.") if rest else "")]


def verdict_json(finding: Finding | None, system: System) -> dict[str, Any]:
    """Verdict and suspect readings of the visit that costs and dates rest on, for `--json`.

    Parameters
    ----------
    finding : Finding or None
        Of that visit; None where they rest on none: then the verdict is null.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    dict
    """
    return {
        "verdict": None if finding is None else finding.verdict,
        "probability_of_fouling": None if finding is None else round(finding.probability_of_fouling, 6),
        "suspect_readings": {} if finding is None else suspects_json(finding, system),
        "readings": cost_readings(finding),
    }
