"""The headline where a visit's readings point to something other than a fouled condenser coil."""

from calibration.diagnosis.finding import Finding
from calibration.diagnosis.hypotheses import NO_FAULT, NONE_OF_THESE
from dashboard.results.figures import probability
from dashboard.results.wording import in_a_sentence, need, words_of
from dashboard.texts.translate import tr


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
    if finding.verdict == "inconclusive":
        return tr("Cleaning is not the matter yet: {explanation}.", explanation=points_to(finding))
    return tr("Cleaning is not the matter: {explanation}.", explanation=points_to(finding))


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
        named = tr(" and ").join(
            f"{need(one.key)}, {probability(one.probability)}"
            for one in finding.treatments
            if one.key in finding.claimed
        )
        return tr("the readings point to {named}", named=named)
    if finding.verdict == "no_fault":
        return tr("no fault was found, {probability}", probability=probability(finding.probability(NO_FAULT)))
    if finding.verdict == "none_of_these":
        found = probability(finding.probability(NONE_OF_THESE))
        way = (
            tr(", with {reading} in its way", reading=words_of(finding.in_the_way, "visit").lower())
            if finding.in_the_way
            else ""
        )
        return tr(
            "the readings match none of the faults that are weighed, {found}; the nearest is {nearest}{way}",
            found=found,
            nearest=in_a_sentence(finding.nearest),
            way=way,
        )
    first = finding.treatments[0]
    healthy = finding.probability(NO_FAULT)
    name, share = (
        (tr("no fault"), healthy) if healthy > first.probability else (need(first.key), first.probability)
    )
    return tr(
        "the readings are inconclusive; most probable is {name}, {share}", name=name, share=probability(share)
    )
