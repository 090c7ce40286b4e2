"""The headline where a visit's readings point to something other than a fouled condenser coil."""

from calibration.case.keys import words_of
from calibration.diagnosis.finding import Finding
from calibration.diagnosis.hypotheses import NO_FAULT, NONE_OF_THESE
from dashboard.results.figures import probability
from dashboard.results.wording import in_a_sentence, need


def not_cleaning(finding: Finding) -> str:
    """That cleaning is not the matter, and what the readings point to.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    str
        One sentence.
    """
    yet = " yet" if finding.verdict == "inconclusive" else ""
    return f"Cleaning is not the matter{yet}: {points_to(finding)}."


def points_to(finding: Finding) -> str:
    """What the readings point to.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    str
        A main clause without capital and full stop, such as "the readings point to undercharge, 91 %".
    """
    if finding.verdict == "fault":
        named = " and ".join(
            f"{need(one.key)}, {probability(one.probability)}"
            for one in finding.treatments
            if one.key in finding.claimed
        )
        return f"the readings point to {named}"
    if finding.verdict == "no_fault":
        return f"no fault was found, {probability(finding.probability(NO_FAULT))}"
    if finding.verdict == "none_of_these":
        found = probability(finding.probability(NONE_OF_THESE))
        way = (
            f", with {words_of(finding.in_the_way, 'visit').lower()} in its way" if finding.in_the_way else ""
        )
        return (
            f"the readings match none of the faults that are weighed, {found}; the nearest is "
            f"{in_a_sentence(finding.nearest)}{way}"
        )
    first = finding.treatments[0]
    healthy = finding.probability(NO_FAULT)
    name, share = (
        ("no fault", healthy) if healthy > first.probability else (need(first.key), first.probability)
    )
    return f"the readings are inconclusive; most probable is {name}, {probability(share)}"
