"""The finding of a visit as figures, rows and sentences: verdict, probabilities, fault level, loss, stakes.

Every number is the finding's (`calibration.diagnosis.finding`); here it gets its words and its unit.
"""

from typing import Any, NamedTuple

from calibration.case.units import (
    CAPACITY,
    EFFICIENCY,
    PERCENT,
    POWER,
    PRESSURE_DIFFERENCE,
    TEMPERATURE,
    Quantity,
    System,
)
from calibration.diagnosis.finding import LISTED, Finding
from calibration.diagnosis.hypotheses import FOULED_CONDENSER, NO_FAULT, NONE_OF_THESE
from calibration.diagnosis.impact import RUNNING_HOURS, Explained, FoundLevel, Loss
from calibration.estimate import Estimate
from dashboard.results.expected_readings import evidence_sentences, expected_json
from dashboard.results.figures import (
    Figure,
    of_estimate,
    of_quantity,
    percent,
    probability,
    range_words,
    shown,
    to_json,
)
from dashboard.results.next_steps import (
    acts_to_separate,
    first_reading,
    next_steps,
    suggestion_json,
    treatments_json,
)
from dashboard.results.suspect_readings import suspects_json
from dashboard.results.trip import spanned_trip_figure
from dashboard.results.wording import CHECK_FIRST, NEEDS, in_a_sentence, words_of
from dashboard.texts.translate import capital, tr

LEAST_SHOWN = 3
"""So many explanations are listed at least."""
WORTH_LISTING = 0.01
"""Others from this probability on [-]."""
WORTH_CHECKING = 0.045
"""What is not claimed is named beside what is from this probability on [-]: 5 % as shown."""
LEAST_NAMED, WORTH_NAMING = 2, 0.1
"""An inconclusive verdict names so many explanations at least, others from this probability on [-]."""
WORTH_A_SENTENCE = 0.05
"""Level and loss are said of explanations from this probability on [-]."""

LEVELS = {
    "condenser_blocked": "{amount} of the condenser's face blocked",
    "condenser_dust": "the condenser's air resistance {amount} higher",
    "condenser_fan_slow": "{amount} of the outdoor fan's speed lost",
    "evaporator_airflow_lost": "{amount} of the indoor airflow lost",
    "noncondensable": "a partial pressure of {amount}",
    "liquid_restriction": "a pressure drop of {amount} in the liquid line",
    "compressor_leakage": "{amount} of the compressor's flow leaks back",
    "valve_overfeed": "the expansion device {amount} too far open",
}


class Need(NamedTuple):
    """What a treatment is needed for, no fault, or none of these: probability now and before [-]."""

    name: str
    probability: float
    prior: float


def needs(finding: Finding) -> list[Need]:
    """What a person would do, no fault and none of these, the most probable first.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    list of Need
        Two faults may be there at once, so the probabilities can add to more than one.
    """
    rows = [
        Need(tr(NEEDS[one.key]), one.probability, _prior(finding, one.faults)) for one in finding.treatments
    ]
    rows += [
        Need(in_a_sentence(one.key), one.probability, one.prior)
        for one in finding.probabilities
        if one.key in (NO_FAULT, NONE_OF_THESE)
    ]
    return sorted(rows, key=lambda row: -row.probability)


def _prior(finding: Finding, faults: tuple[str, ...]) -> float:
    """Probability of any of some faults before the readings, alone or with another [-]."""
    return sum(one.prior for one in finding.probabilities if set(faults) & set(one.key.split("+")))


def probability_rows(finding: Finding) -> list[tuple[str, str, str]]:
    """The same with probabilities now and before the readings in %, as far as worth listing."""
    listed = [
        one
        for place, one in enumerate(needs(finding))
        if place < LEAST_SHOWN or one.probability >= WORTH_LISTING
    ]
    return [(one.name, f"{100 * one.probability:.1f}", f"{100 * one.prior:.1f}") for one in listed]


def verdict_sentence(finding: Finding) -> str:
    """What the readings say, in one line or two; what is treated alike is one.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    str
        Such as "Fouled condenser coil, 94 %. Check the fan motor first, 5 %."
    """
    if finding.verdict == "no_fault":
        share = probability(finding.probability(NO_FAULT))
        return tr("No fault found: the readings fit a unit without fault, {share}.", share=share)
    if finding.verdict == "none_of_these":
        return tr(
            "No fault on the list fits these readings, {share}.",
            share=probability(finding.probability(NONE_OF_THESE)),
        )
    if finding.verdict == "inconclusive":
        return tr(
            "Inconclusive: {leading}. {next}",
            leading=_leading(finding),
            next=first_reading(finding),
        ).rstrip()
    claims = [f"{tr(NEEDS[one])}, {probability(finding.needed(one))}" for one in finding.claimed]
    said = tr(", and ").join(claims)
    return f"{capital(said)}.{_check_first(finding)}"


def _leading(finding: Finding) -> str:
    """The leading explanations of an open question."""
    named = [
        one
        for place, one in enumerate(needs(finding))
        if place < LEAST_NAMED or one.probability >= WORTH_NAMING
    ]
    return ", ".join(f"{one.name} {probability(one.probability)}" for one in named)


def _check_first(finding: Finding) -> str:
    others = [one for one in finding.treatments if one.key not in finding.claimed]
    first = max(others, key=lambda one: one.probability)
    if first.probability < WORTH_CHECKING:
        return ""
    return f" {tr(CHECK_FIRST[first.key])}, {probability(first.probability)}."


def verdict_sentences(finding: Finding) -> list[str]:
    """The verdict and what belongs to it: what is nearest, the forms of fouling, a hunting valve.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    list of str
        The verdict first.
    """
    said = [verdict_sentence(finding)]
    if finding.claims_fouling:
        forms = tr(" or ").join(
            f"{in_a_sentence(key)} ({probability(finding.present(key))})" for key in FOULED_CONDENSER
        )
        said.append(tr("It is {forms}: the cleaning is the same.", forms=forms))
    if finding.verdict == "no_fault":
        first = finding.treatments[0]
        said.append(
            tr(
                "Most probable fault: {fault}, {probability}.",
                fault=tr(NEEDS[first.key]),
                probability=probability(first.probability),
            )
        )
    if finding.verdict == "none_of_these":
        said.append(_nearest(finding))
    said += [hunting_sentence(finding)] if finding.hunting_valve >= LISTED else []
    if not finding.clean_visits:
        said.append(tr("Based on the nameplate only, without a clean visit: ranges are wide."))
    return said


def _nearest(finding: Finding) -> str:
    nearest = in_a_sentence(finding.nearest)
    if not finding.in_the_way:
        return tr("Nearest is {fault}.", fault=nearest)
    return tr(
        "Nearest is {fault}, but {reading} does not fit it: measure it again first.",
        fault=nearest,
        reading=words_of(finding.in_the_way).lower(),
    )


def hunting_sentence(finding: Finding) -> str:
    """That the expansion valve may not hold its superheat."""
    beside = tr("on the clean visit") if finding.clean_visits else tr("expected")
    return tr(
        "The expansion valve may stick or hunt ({probability}): its superheat is not the one {beside}.",
        probability=probability(finding.hunting_valve),
        beside=beside,
    )


def fit_sentence(finding: Finding) -> str:
    """How well the readings fit a unit without fault and the nearest fault.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    str
        Such as "Fit: χ² 40 for a unit without fault; about 9 is expected from measurement error alone."
    """
    suspect = any(one.is_suspect for one in finding.suspects)
    counted = tr(" Suspect readings are counted as they were read.") if suspect else ""
    return tr(
        "Fit: χ² {no_fault} for a unit without fault and {best} with "
        "{fault}; about {readings} is expected from measurement error alone.{counted}",
        no_fault=f"{finding.no_fault_chi_square:,.0f}",
        best=f"{finding.chi_square:,.0f}",
        fault=in_a_sentence(finding.nearest),
        readings=finding.readings,
        counted=counted,
    )


def loss_sentence(finding: Finding) -> str:
    """What the unit loses now, averaged over everything that is not known.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    str
        One sentence.
    """
    if finding.verdict == "none_of_these":
        return tr("Not known: no fault on the list fits.")
    if finding.verdict == "no_fault":
        return tr("Nothing that these readings show.")
    cost = _cost(finding.loss)
    if finding.verdict == "inconclusive":
        return tr("Over all explanations it currently {cost}.", cost=cost)
    extra = of_estimate("", "", finding.loss.same_cooling_power, POWER, "SI")
    return tr(
        "It currently {cost}; the same cooling needs {extra} W more ({ends} W).",
        cost=cost,
        extra=extra.text,
        ends=extra.interval_text,
    )


def level_sentence(one: Explained, system: System) -> str:
    """Fault level of one explanation and its loss, with 90 % ranges.

    Parameters
    ----------
    one : Explained
        Of a finding.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    str
        Two sentences.
    """
    amounts = "; ".join(_level_words(part, system) for part in one.levels)
    outdoor = of_quantity("outdoor_db", "", one.design.outdoor_temperature, TEMPERATURE, system)
    return tr(
        "If it is {fault}: {amounts}. Today it {cost}; at {outdoor} outdoors it {cost_there}.",
        fault=in_a_sentence(one.key),
        amounts=amounts,
        cost=_cost(one.today),
        outdoor=f"{outdoor.text} {outdoor.unit}",
        cost_there=_cost(one.design),
    )


def _cost(loss: Loss) -> str:
    """What is lost of capacity and EER, or gained, as by a little charge too much."""
    shares = loss.capacity_share, loss.eer_share
    gains = tuple(percent(one.value)[0] == "-" for one in shares)
    capacity, eer = (
        spanned(one.times(-1.0) if gain else one) for one, gain in zip(shares, gains, strict=True)
    )
    if gains == (True, True):
        return tr("adds {capacity} to capacity and {eer} to EER", capacity=capacity, eer=eer)
    if gains == (True, False):
        return tr("adds {capacity} to capacity and costs {eer} of EER", capacity=capacity, eer=eer)
    if gains == (False, True):
        return tr("costs {capacity} of capacity and adds {eer} to EER", capacity=capacity, eer=eer)
    return tr("costs {capacity} of capacity and {eer} of EER", capacity=capacity, eer=eer)


def _level_words(part: FoundLevel, system: System) -> str:
    if part.field == "charge_change":
        short = part.amount.value < 0
        sign = -1.0 if short else 1.0
        ends = sorted((sign * part.amount.low, sign * part.amount.high))
        amount = spanned(Estimate(sign * part.amount.value, ends[0], ends[1]))
        if short:
            return tr("{amount} of the charge missing", amount=amount)
        return tr("{amount} of the charge too much", amount=amount)
    pressures = {"noncondensable": part.amount, "liquid_restriction": part.pressure_drop or part.amount}
    if part.field in pressures:
        one = of_estimate("", "", pressures[part.field], PRESSURE_DIFFERENCE, system)
        amount = f"{one.text} {one.unit} ({one.interval_text})"
    else:
        amount = spanned(part.amount)
    said = tr(LEVELS[part.field], amount=amount)
    if part.airflow_lost is not None and part.field != "evaporator_airflow_lost":
        said += tr(", which costs {share} of its airflow", share=spanned(part.airflow_lost))
    return said


def spanned(one: Estimate) -> str:
    """A share in percent with its 90 % range, such as "11 % (8 to 15 %)"."""
    value, low, high = (percent(share) for share in (one.value, one.low, one.high))
    return tr("{value} ({low} to {high})", value=value, low=low.removesuffix(" %"), high=high)


def level_figures(one: Explained, system: System) -> list[Figure]:
    """Each fault's amount in the units of the case file, and the airflow or pressure that it costs."""
    figures = []
    for part in one.levels:
        quantity = PRESSURE_DIFFERENCE if part.field == "noncondensable" else PERCENT
        figures.append(of_estimate(part.field, words_of(part.field, "fault"), part.amount, quantity, system))
        if part.airflow_lost is not None:
            figures.append(
                of_estimate("airflow_lost", tr("Airflow lost"), part.airflow_lost, PERCENT, system)
            )
        if part.pressure_drop is not None:
            words = tr("Pressure drop of the restriction")
            figures.append(
                of_estimate("restriction_drop", words, part.pressure_drop, PRESSURE_DIFFERENCE, system)
            )
    return figures


def loss_figures(loss: Loss, system: System) -> list[Figure]:
    """What is lost at one weather, with 90 % ranges."""
    rows: list[tuple[str, str, Estimate, Quantity]] = [
        ("clean_capacity", tr("Capacity without fault"), loss.clean_capacity, CAPACITY),
        ("capacity_lost", tr("Capacity lost"), loss.capacity_lost, CAPACITY),
        ("capacity_share", tr("Capacity lost, share"), loss.capacity_share, PERCENT),
        ("clean_power", tr("Total power without fault"), loss.clean_power, POWER),
        ("power_added", tr("Power added"), loss.power_added, POWER),
        ("clean_eer", tr("EER without fault"), loss.clean_eer, EFFICIENCY),
        ("eer_share", tr("EER lost, share"), loss.eer_share, PERCENT),
        ("same_cooling_power", tr("Extra power for the same cooling"), loss.same_cooling_power, POWER),
    ]
    figures = [of_estimate(key, words, one, quantity, system) for key, words, one, quantity in rows]
    trip = loss.trip_temperature
    if trip is None:
        return figures
    return [*figures, spanned_trip_figure(trip.value, (trip.low, trip.high), system)]


def stakes_sentences(finding: Finding, currency: str) -> list[str]:
    """What it costs to be wrong about the likeliest fault either way; nothing where none is in question."""
    stakes = finding.stakes
    if finding.verdict in ("no_fault", "none_of_these"):
        return []
    price = ""
    if stakes.price is not None:
        price = tr(" (cost {price} {currency})", price=shown(stakes.price), currency=currency)
    power, energy, cost = stakes.left_power, stakes.left_energy, stakes.left_cost
    money = ""
    if cost is not None:
        money = tr(
            " or {cost} {currency} ({ends})",
            cost=shown(cost.value),
            currency=currency,
            ends=range_words(cost.low, cost.high),
        )
    missing = (
        tr("none")
        if percent(stakes.left_capacity_share.value)[0] == "-"
        else spanned(stakes.left_capacity_share)
    )
    needless = probability(stakes.needless)
    return [
        tr("Chance that the repair is unnecessary: {share}{price}.", share=needless, price=price),
        tr(
            "If it is there and is left: {power} W more for the same cooling ({ends} W), {energy} kWh in "
            "{hours} hours of running{money}. Cooling missing on a design day: {missing}.",
            power=shown(power.value),
            ends=range_words(power.low, power.high),
            energy=shown(energy.value),
            hours=f"{RUNNING_HOURS:.0f}",
            money=money,
            missing=missing,
        ),
    ]


def shown_faults(finding: Finding) -> tuple[Explained, ...]:
    """Explanations whose level and loss are said: none where no fault is claimed or in question."""
    if finding.verdict in ("no_fault", "none_of_these"):
        return ()
    return tuple(
        one
        for place, one in enumerate(finding.explained)
        if place == 0 or one.probability >= WORTH_A_SENTENCE
    )


def all_sentences(finding: Finding, system: System, currency: str) -> list[str]:
    """Every sentence about the verdict, in the order of the command line."""
    return [
        *verdict_sentences(finding),
        *(level_sentence(one, system) for one in shown_faults(finding)),
        *next_steps(finding),
        *(tr("To separate the two: {act}.", act=act) for act in acts_to_separate(finding)),
        *evidence_sentences(finding),
        *stakes_sentences(finding, currency),
        fit_sentence(finding),
    ]


def match_json(finding: Finding, system: System, currency: str) -> dict[str, Any]:
    """The finding for `--json`: every key stays as it is, whatever the words on the screens."""
    return {
        "visit": finding.visit.label,
        "verdict": finding.verdict,
        "clean_visits": list(finding.clean_visits),
        "probabilities": {
            one.key: {"probability": _rounded(one.probability), "prior": _rounded(one.prior)}
            for one in finding.probabilities
        },
        "treatments": treatments_json(finding),
        "claimed": list(finding.claimed),
        "probability_of_fouling": _rounded(finding.probability_of_fouling),
        "suspect_readings": suspects_json(finding, system),
        "hunting_valve": _rounded(finding.hunting_valve),
        "nearest": finding.nearest,
        "second": finding.second,
        "rival": finding.rival,
        "in_the_way": finding.in_the_way or None,
        "loss": {
            "today": to_json(loss_figures(finding.loss, system)),
            "design": to_json(loss_figures(finding.design_loss, system)),
        },
        "explained": [_explained_json(one, system) for one in finding.explained],
        "readings": expected_json(finding, system),
        "suggestions": [suggestion_json(one, finding, system) for one in finding.suggestions],
        "chi_square": {
            "no_fault": _rounded(finding.no_fault_chi_square),
            "best": _rounded(finding.chi_square),
            "readings": finding.readings,
        },
        "sentences": all_sentences(finding, system, currency),
    }


def _explained_json(one: Explained, system: System) -> dict[str, Any]:
    return {
        "key": one.key,
        "probability": _rounded(one.probability),
        "severity": to_json(level_figures(one, system)),
        "today": to_json(loss_figures(one.today, system)),
        "design": to_json(loss_figures(one.design, system)),
        "sentence": level_sentence(one, system),
    }


def _rounded(value: float) -> float:
    return round(value, 6)
