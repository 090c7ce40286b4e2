"""What to do about a finding, and which reading to take next, in plain words.

What follows from a probability is decided in `calibration.diagnosis`; here are only the words.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from calibration.case.units import System
from calibration.diagnosis.finding import Finding
from calibration.diagnosis.first_reading import LITTLE
from calibration.diagnosis.first_reading import first_reading as worth_taking
from calibration.diagnosis.hypotheses import TREATMENTS
from calibration.diagnosis.next_reading import Suggestion
from dashboard.results.figures import figure, percent
from dashboard.results.wording import ACTS, HOW, NEEDS, in_a_sentence, separating_acts, words_of
from dashboard.texts.translate import capital, tr

CLEANING = "clean_condenser"
CLEANING_STEP = (
    "Fouled condenser coil: cleaning corrects it; what fouling costs and what a cleaning costs decide when."
)
NOTHING_MORE = "No further reading would change this much."
CLEAN_VISIT = "No further reading of this visit would change this much; a visit with the coil clean would."
POSSIBLE = 0.05
"""Faults from this probability on are worth an act that separates them [-]."""


def next_steps(finding: Finding) -> list[str]:
    """What to do about the faults that are claimed.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    list of str
        One sentence for each treatment that is claimed; empty where none is. When a cleaning pays is worked
        out elsewhere.
    """
    return [_step(treatment) for treatment in finding.claimed]


def _step(treatment: str) -> str:
    words = tr(NEEDS[treatment])
    named = capital(words)
    if treatment == CLEANING:
        return tr(CLEANING_STEP)
    return tr(
        "{fault}: {act}. Cleaning the condenser does not correct it.", fault=named, act=tr(ACTS[treatment])
    )


def what_to_do(finding: Finding) -> list[str]:
    """What to do now, whatever the verdict is.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    list of str
        One or more sentences.
    """
    if finding.verdict == "fault":
        return next_steps(finding)
    if finding.verdict == "no_fault":
        return [tr("Nothing to repair. Read the unit again at the next visit.")]
    if finding.verdict == "none_of_these":
        return [tr("Repair nothing yet. If the readings stand, look for a fault that is not listed here.")]
    if worth_taking(finding) is None:
        return [tr("Repair nothing yet. {reason}", reason=_nothing_more(finding))]
    return [tr("Repair nothing yet: take the next reading first.")]


def _nothing_more(finding: Finding) -> str:
    """What is said where no reading is worth taking."""
    return tr(NOTHING_MORE if finding.clean_visits else CLEAN_VISIT)


class NextReading(NamedTuple):
    """One reading to take: what, how, what it would show, and how much of the uncertainty it removes [-].

    `shows` is empty where that would separate nothing.
    """

    name: str
    how: str
    shows: str
    removes: float

    @property
    def sentence(self) -> str:
        """How to take it, and what it would show."""
        shows = tr(" It would show {shows}.", shows=self.shows) if self.shows else ""
        return f"{capital(self.how)}.{shows}"


def next_readings(finding: Finding, system: System) -> list[NextReading]:
    """Readings to take or to repeat, in words; the most informative first.

    Parameters
    ----------
    finding : Finding
        Of one visit.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of NextReading
        Empty where nothing would add anything.
    """
    return [_next_reading(one, finding, system) for one in finding.suggestions]


def _next_reading(one: Suggestion, finding: Finding, system: System) -> NextReading:
    pressure = finding.visit.ambient_pressure
    name = tr("{reading}, again", reading=words_of(one.reading)) if one.again else words_of(one.reading)
    wrong = next((suspect for suspect in finding.suspects if suspect.reading == one.reading), None)
    values = one.values if wrong is None else (wrong.read, wrong.supported)
    with_first, with_second = (
        (tr("if it was right"), tr("if it was wrong"))
        if wrong is not None
        else (tr("with {fault}", fault=in_a_sentence(key)) for key in one.separates)
    )
    first, second = (figure(one.reading, value, system, ambient_pressure=pressure) for value in values)
    shows = ""
    # A reading that is probably right will be read much the same again, whatever the fault is.
    if first.text != second.text and (wrong is not None or not one.again):
        shows = tr(
            "about {first_text} {first_unit} {with_first}, {second_text} {second_unit} {with_second}",
            first_text=first.text,
            first_unit=first.unit,
            with_first=with_first,
            second_text=second.text,
            second_unit=second.unit,
            with_second=with_second,
        )
    return NextReading(name, tr(HOW[one.reading]), shows, one.share)


def next_reading_sentences(finding: Finding, system: System) -> list[str]:
    """Those that are worth taking, a few sentences for each.

    Parameters
    ----------
    finding : Finding
        Of one visit.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of str
        Such as "Liquid pipe, again, removes 35 % of the uncertainty. Strap a probe … It would show …"; that
        no further reading is needed, where none would say much.
    """
    if finding.verdict == "none_of_these":
        return [what_to_read_next(finding, system)]
    said = []
    for one, reading in zip(finding.suggestions, next_readings(finding, system), strict=True):
        if finding.suspect(one.reading) is not None:
            said.append(f"{reading.name}. {reading.sentence}")
        elif one.share >= LITTLE:
            removes = tr("removes {share} of the uncertainty", share=percent(reading.removes))
            said.append(f"{reading.name}, {removes}. {reading.sentence}")
    return said or [_nothing_more(finding)]


def what_to_read_next(finding: Finding, system: System) -> str:
    """The one reading to take next, in a few sentences.

    Parameters
    ----------
    finding : Finding
        Of one visit.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    str
        That nothing more is needed, where no reading would remove much of the uncertainty.
    """
    first = worth_taking(finding)
    if first is None:
        return _nothing_more(finding)
    if finding.verdict == "none_of_these" and finding.in_the_way:
        how = tr(HOW[first.reading])
        return tr("{reading}, again. {how}.", reading=words_of(first.reading), how=capital(how))
    for one, reading in zip(finding.suggestions, next_readings(finding, system), strict=True):
        if one.reading == first.reading:
            return f"{reading.name}. {reading.sentence}"
    return _nothing_more(finding)


def first_reading(finding: Finding) -> str:
    """What to read first, after a verdict that leaves the question open.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    str
        A short sentence; empty where no reading is worth taking.
    """
    one = worth_taking(finding)
    if one is None:
        return ""
    if one.again:
        return tr("Measure {reading} again first.", reading=_lower(one.reading))
    return tr("Measure {reading} next.", reading=_lower(one.reading))


def _lower(reading: str) -> str:
    words = words_of(reading)
    return words if words.isupper() else tr("the {reading}", reading=f"{words[0].lower()}{words[1:]}")


def acts_to_separate(finding: Finding) -> list[str]:
    """What separates the explanations that are still possible where no reading does it well.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    list of str
        Sentences without capital and full stop; empty where one explanation is left, or none fits.
    """
    if finding.verdict in ("no_fault", "none_of_these"):
        return []
    likely = [
        one.key for one in finding.probabilities if one.key in TREATMENTS and one.probability >= POSSIBLE
    ]
    return separating_acts(likely)


def suggestion_json(one: Suggestion, finding: Finding, system: System) -> dict[str, Any]:
    """One reading to take, for `--json`.

    Parameters
    ----------
    one : Suggestion
        Of the finding.
    finding : Finding
        Of one visit.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    dict
        Its key, what it would separate, and the words.
    """
    said = _next_reading(one, finding, system)
    return {
        "reading": one.reading,
        "again": one.again,
        "information": round(one.information, 6),
        "share": round(one.share, 6),
        "separates": list(one.separates),
        "how": said.how,
        "shows": said.shows,
    }


def treatments_json(finding: Finding) -> dict[str, Any]:
    """What a person would do, with the probability that it is needed, for `--json`.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    dict
        By key, the most probably needed first.
    """
    return {
        one.key: {
            "probability": round(one.probability, 6),
            "faults": list(one.faults),
            "needed_for": NEEDS[one.key],
            "what_to_do": ACTS[one.key],
        }
        for one in finding.treatments
    }
