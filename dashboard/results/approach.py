"""Condensing temperature over ambient at a visit, measured and expected, as figures and sentences."""

from calibration.case.units import TEMPERATURE_DIFFERENCE, System
from calibration.clean_fit.approach import ApproachExpected, Rule
from calibration.estimate import Estimate
from dashboard.results.figures import Figure, of_quantity, percent, signed


def approach_figures(found: ApproachExpected, system: System) -> list[Figure]:
    """Measured and expected values with 90 % ranges, their difference, and the rules of thumb."""
    figures = []
    if found.measured is not None:
        figures.append(_estimate("approach", "Measured", found.measured, system))
    figures.append(
        _estimate("approach_expected", "Expected of the clean unit at this load", found.expected, system)
    )
    if found.over_expected is not None:
        over = _estimate("approach_over_expected", "Measured minus expected", found.over_expected, system)
        figures.append(over)
    figures.append(
        _plain("approach_at_rating", "Clean unit at the rating conditions", found.at_rating, system)
    )
    return figures + [
        _plain(f"rule_{rule.lowest:.0f}", _rule_words(found, rule), rule.approach, system)
        for rule in found.rules
    ]


def _estimate(key: str, words: str, one: Estimate, system: System) -> Figure:
    base = _plain(key, words, one.value, system)
    low, high = (float(TEMPERATURE_DIFFERENCE.from_si(end, system)) for end in one.ends)
    return Figure(base.key, base.label, base.value, base.unit, base.decimals, low, high)


def _plain(key: str, words: str, value: float, system: System) -> Figure:
    return of_quantity(key, words, value, TEMPERATURE_DIFFERENCE, system)


def _rule_words(found: ApproachExpected, rule: Rule) -> str:
    own = ", this unit's class" if rule == found.own_rule else ""
    if rule == found.rules[-1]:
        return f"Rule of thumb, SEER from {rule.lowest:g}{own}"
    return f"Rule of thumb, SEER {rule.lowest:g} to {rule.highest:g}{own}"


def sentences(found: ApproachExpected, system: System) -> list[str]:
    """How far the reading is from the model and from the rule of its class, and why these two differ."""
    lines = []
    over = found.over_expected
    if over is not None:
        shown = _estimate("", "", over, system)
        lines.append(
            f"The condensing temperature over ambient is {shown.text} {shown.unit} above that of the clean "
            f"unit at this load "
            f"({shown.interval_text})" + ("." if over.excludes_zero else "; within measurement error.")
        )
    if found.own_rule is not None:
        expected = found.expected.value - found.own_rule.approach
        lines.append(
            "The rule of thumb for its class (common practice, no source) is off by "
            f"{_signed(expected, system)} for this unit at this load: "
            + "; ".join(f"{step.words} {_signed(step.adds, system)}" for step in found.steps)
            + "."
        )
    lines.append(
        f"The clean condenser rejects {percent(found.heat_rejected)} of its heat at the rating conditions. "
        "The nameplate's charging chart takes precedence over any rule."
    )
    return lines


def _signed(value: float, system: System) -> str:
    number = float(TEMPERATURE_DIFFERENCE.from_si(value, system))
    return f"{signed(number, 1)} {TEMPERATURE_DIFFERENCE.label(system)}"
