"""When to clean, as figures, rows, a date and sentences for command line, pages and report alike.

What to do and on which dates is decided by `calibration.costs.recommendation`; here it gets its words. Where
the readings point to something other than a fouled coil, the first sentence says to what.
"""

from dataclasses import dataclass, replace
from math import isinf
from typing import Any

import numpy as np

from calibration.case.units import HOURS, PERCENT, TEMPERATURE, TEMPERATURE_DIFFERENCE, YEARS, System
from calibration.costs.cleaning_interval import MEASURING_PRICE, NO_EFFECT, IntervalFindings
from calibration.costs.recommendation import Recommendation, recommendation
from calibration.diagnosis.finding import Finding
from dashboard.results.costs.joint_dates import joint_json
from dashboard.results.costs.season_cost import money_figure
from dashboard.results.costs.when_words import date_words, interval_words, length_of, length_words
from dashboard.results.figures import Figure, of_quantity, to_json, with_interval
from dashboard.results.finding import not_cleaning
from dashboard.results.next_steps import next_steps
from dashboard.results.suspect_readings import verdict_json
from dashboard.texts.translate import tr
from model.maintenance.interval import LONGEST_INTERVAL
from model.maintenance.policies import PolicyResult

RULES = {
    "best dates": "on the dates that cost least",
    "when a condition is reached": "when the condensing temperature over ambient reaches a limit",
    "fixed interval": "at a fixed interval, whatever the season",
    "every year": "every year on the best day",
    "when comfort is lost": "only when the room gets too warm",
    "never": "never",
}


@dataclass(frozen=True)
class CleaningAdvice:
    """What to do, in sentences.

    Attributes
    ----------
    recommended : Recommendation
        The decision and its dates.
    headline : str
        It in one sentence.
    reasons : tuple of str
        Why, in sentences.
    measuring : str
        What a measurement before that is worth, in a sentence; empty where cleaning is not the matter.
    """

    recommended: Recommendation
    headline: str
    reasons: tuple[str, ...]
    measuring: str


def advice(found: IntervalFindings) -> CleaningAdvice:
    """What to do with a unit, and why."""
    recommended = recommendation(found)
    if recommended.advice == "not_a_cleaning_matter":
        return CleaningAdvice(recommended, _headline(found, recommended), _other_work(found), "")
    told = (
        _today_sentence(found, recommended),
        _waiting_sentence(found, recommended),
        _long_run_sentence(found),
        _spread_sentence(found),
    )
    reasons = tuple(one for one in told if one)
    return CleaningAdvice(recommended, _headline(found, recommended), reasons, _measuring_sentence(found))


def _headline(found: IntervalFindings, recommended: Recommendation) -> str:
    if recommended.advice == "not_a_cleaning_matter":
        return not_cleaning(_finding(found))
    first = recommended.date
    if first is None:
        return tr(
            "Leave it: at {price} no cleaning pays in the next {years} years, by the readings "
            "and the assumptions.",
            price=_money(found, found.cleaning.price),
            years=found.years,
        )
    costs = found.costs
    every, after = float(costs.advised_interval[0]), ""
    if len(recommended.dates) > 1 and not np.isinf(every):
        after = tr(", then {every}", every=interval_words(every, int(costs.advised_day[0])))
    if recommended.advice == "measure_first":
        return tr(
            "Measure before anything is cleaned: the readings do not settle whether a cleaning "
            "pays. If it does, clean about {date}{after}.",
            date=date_words(first),
            after=after,
        )
    if recommended.advice == "now":
        return tr("Clean it now{after}.", after=after)
    return tr("Not yet: clean it about {date}{after}.", date=date_words(first), after=after)


def _finding(found: IntervalFindings) -> Finding:
    """Finding of the last visit, which is there where cleaning is not the matter."""
    if found.unit.whole_finding is None:
        raise ValueError("unit.whole_finding must be there where cleaning is not the matter")
    return found.unit.whole_finding


def _other_work(found: IntervalFindings) -> tuple[str, ...]:
    """What to do where cleaning is not the matter."""
    return (
        *next_steps(_finding(found)),
        tr("Costs of fouling and dates of cleanings only suppose that the coil is fouled."),
    )


def _money(found: IntervalFindings, value: float) -> str:
    return with_interval(money_figure("", "", value, found.inputs.currency))


def _today_sentence(found: IntervalFindings, recommended: Recommendation) -> str:
    """What a cleaning today buys until the next planned one, and what it costs."""
    saved, until = recommended.saving, recommended.saving_until
    span = (
        tr("until {date}", date=date_words(until))
        if until
        else tr("in the next {years} years", years=found.years)
    )
    words = {"saved": _money(found, saved), "span": span, "price": _money(found, found.cleaning.price)}
    if saved > found.cleaning.price:
        return tr(
            "A cleaning today would save about {saved} {span}, more than its price of {price}.", **words
        )
    return tr("A cleaning today would save about {saved} {span}, less than its price of {price}.", **words)


def _waiting_sentence(found: IntervalFindings, recommended: Recommendation) -> str:
    """Why to wait where a cleaning today would pay for itself; empty where it would not, or none waits."""
    first, price = recommended.date, found.cleaning.price
    if recommended.advice != "later" or first is None:
        return ""
    when = date_words(first)
    if recommended.saving > price:
        return tr(
            "It would pay for itself, but a cleaning about {when} costs less in the long run: "
            "fouling that comes until then would settle on the cleaned coil.",
            when=when,
        )
    if found.worth.within_a_year > price:
        return tr(
            "If none followed, it would pay back within twelve months; the one about {when} "
            "saves more at the same price, because most of the fouling comes before it.",
            when=when,
        )
    return ""


def _long_run_sentence(found: IntervalFindings) -> str:
    """What dirt and cleanings cost in the long run, with the advice and without any cleaning."""
    costs = found.costs
    clean = float(costs.clean_per_year[0])
    never = float(costs.never_per_year[0]) - clean
    advised = float(costs.advised_per_year[0]) - clean
    if np.isinf(costs.advised_interval[0]):
        return tr(
            "Never cleaning costs {never} a year more than a coil that is always clean.",
            never=_money(found, never),
        )
    every = interval_words(float(costs.advised_interval[0]), int(costs.advised_day[0]))
    return tr(
        "In the long run, dirt and cleanings together come to {advised} a year when it is "
        "cleaned {every}, and to {never} when it never is.",
        advised=_money(found, advised),
        every=every,
        never=_money(found, never),
    )


def _spread_sentence(found: IntervalFindings) -> str:
    """How sure the interval is."""
    advised = found.drawn.advised_interval
    low, high = (float(v) for v in np.quantile(advised, [0.05, 0.95], method="inverted_cdf"))
    if low == high:
        best = tr("never cleaned") if np.isinf(low) else tr("cleaned {every}", every=interval_words(low))
        return tr("Nine in ten of the units that the readings allow are best {best}.", best=best)
    if np.isinf(high):
        return tr(
            "Of the units that the readings allow, {share} % are best never cleaned; the others "
            "{every} or less often.",
            share=f"{100.0 * float(np.isinf(advised).mean()):.0f}",
            every=interval_words(low),
        )
    shortest, longest = length_words(low), length_words(high)
    if length_of(low)[2] == length_of(high)[2]:
        shortest = length_of(low)[1]
    more = tr(" or more") if high >= LONGEST_INTERVAL else ""
    return tr(
        "For nine in ten of the units that the readings allow, the best interval is "
        "{shortest} to {longest}{more}.",
        shortest=shortest,
        longest=longest,
        more=more,
    )


def _measuring_sentence(found: IntervalFindings) -> str:
    """What a measurement before a cleaning is worth."""
    worth = _money(found, found.measuring.worth_of_measuring)
    told = tr(
        "{measuring} before deciding is worth at most {worth}; a visit only for that is taken to cost "
        "{price}.",
        measuring=tr("Measuring once more") if found.unit.has_readings else tr("Measuring first"),
        worth=worth,
        price=_money(found, MEASURING_PRICE * found.cleaning.price),
    )
    if found.unit.has_readings:
        return told
    return told + tr(
        " Nothing but time says that the coil is dirty, so in {share} cases of a hundred a cleaning is taken "
        "to change nothing.",
        share=f"{100 * NO_EFFECT:.0f}",
    )


def headline_figures(found: IntervalFindings) -> list[Figure]:
    """The few figures to see first: the interval, and what it costs."""
    supposed = tr("If it were fouling: ") if found.unit.if_fouled else ""
    return [replace(one, label=f"{supposed}{one.label}") for one in interval_figures(found)[:2]]


def interval_figures(found: IntervalFindings) -> list[Figure]:
    """Interval and money of the advice, each with its interval over the draws."""
    costs, drawn, currency = found.costs, found.drawn, found.inputs.currency
    clean = float(costs.clean_per_year[0])
    return [
        _interval_figure(found),
        money_figure(
            "advised_cost",
            tr("Dirt and cleanings when cleaned so"),
            float(costs.advised_per_year[0]) - clean,
            currency,
            _spread(drawn.advised_per_year - drawn.clean_per_year),
            per=tr("a year"),
        ),
        money_figure(
            "never_cost",
            tr("Dirt when never cleaned"),
            float(costs.never_per_year[0]) - clean,
            currency,
            _spread(drawn.never_per_year - drawn.clean_per_year),
            per=tr("a year"),
        ),
        *_worth_figures(found),
    ]


def _worth_figures(found: IntervalFindings) -> list[Figure]:
    """What a cleaning costs, and what one today and a measurement before it are worth."""
    currency = found.inputs.currency
    return [
        money_figure("cleaning_price", tr("Price of a cleaning"), found.cleaning.price, currency),
        money_figure(
            "saving_today",
            tr("Saved by a cleaning today until the next planned"),
            recommendation(found).saving,
            currency,
        ),
        money_figure(
            "break_even_year",
            tr("A cleaning today pays back in twelve months below"),
            found.worth.within_a_year,
            currency,
        ),
        money_figure(
            "break_even_ever", tr("No cleaning in these years pays above"), found.worth.ever, currency
        ),
        of_quantity(
            "chance_it_pays",
            tr("Chance that a cleaning today pays in twelve months"),
            found.measuring.chance_it_pays,
            PERCENT,
            "SI",
        ),
        money_figure(
            "worth_of_measuring",
            tr("Most that measuring first is worth"),
            found.measuring.worth_of_measuring,
            currency,
        ),
    ]


def _interval_figure(found: IntervalFindings) -> Figure:
    key, label = "interval", tr("Interval of least cost")
    years = float(found.costs.advised_interval[0])
    if np.isinf(years):
        return Figure(key, label, tr("never"))
    spread = found.drawn.advised_interval
    low, high = (float(v) for v in np.quantile(spread, [0.05, 0.95], method="inverted_cdf"))
    if np.isinf(high):
        return of_quantity(key, label, years, YEARS, "SI")
    ends = (min(low, years), max(high, years))
    return of_quantity(key, label, years, YEARS, "SI", interval=ends)


def _spread(samples: np.ndarray) -> tuple[float, float]:
    low, high = np.quantile(samples, [0.05, 0.95])
    return float(low), float(high)


def rule_columns(found: IntervalFindings) -> list[tuple[str, list[Figure]]]:
    """Each rule that people follow, with what it comes to."""
    return [(tr(RULES[one.name]), _rule_figures(found, one)) for one in found.policies.results]


def _rule_figures(found: IntervalFindings, rule: PolicyResult) -> list[Figure]:
    currency = found.inputs.currency
    return [
        money_figure("cost", tr("Running and cleaning"), rule.cost_per_year, currency, per=tr("a year")),
        money_figure("cleaning", tr("of it cleaning"), rule.cleaning_per_year, currency, per=tr("a year")),
        _over_best_figure(rule),
        Figure(
            "cleanings", tr("Cleanings in {years} years", years=found.years), round(rule.cleanings, 6), "", 0
        ),
        of_quantity("short_hours", tr("Unmet-load hours a year"), rule.short_hours_per_year, HOURS, "SI"),
    ]


def _over_best_figure(rule: PolicyResult) -> Figure:
    key, label = "over_best", tr("Over the best dates")
    if isinf(rule.over_best):
        return Figure(key, label, tr("they cost nothing"))
    return of_quantity(key, label, rule.over_best, PERCENT, "SI")


def rule_table(found: IntervalFindings) -> tuple[list[str], list[list[str]]]:
    """Headings and rows of the rules."""
    columns = rule_columns(found)
    headings = [tr("cleaned"), *(one.heading for one in columns[0][1])]
    return headings, [[words, *(one.text for one in figures)] for words, figures in columns]


def watch_rows(found: IntervalFindings, system: System) -> list[tuple[Figure, Figure, Figure]]:
    """Outdoor temperature, approach at which to clean, approach of the clean coil."""
    return [
        (
            of_quantity("outdoor_db", tr("Outdoor air"), float(outdoor), TEMPERATURE, system),
            of_quantity("approach", tr("Clean when it reaches"), float(at), TEMPERATURE_DIFFERENCE, system),
            of_quantity("clean_approach", tr("Clean coil"), float(clean), TEMPERATURE_DIFFERENCE, system),
        )
        for outdoor, at, clean in zip(
            found.watched_outdoor, found.watched_approach, found.clean_approach, strict=True
        )
    ]


def watch_table(found: IntervalFindings, system: System) -> tuple[list[str], list[list[str]]]:
    """Headings and rows of the condition to watch."""
    rows = watch_rows(found, system)
    return [one.heading for one in rows[0]], [[one.text for one in row] for row in rows]


def watch_sentence(found: IntervalFindings, system: System) -> str:
    """The condition to watch between cleanings, in one sentence; empty where none is advised."""
    if recommendation(found).date is None:
        return ""
    outdoor, at, clean = watch_rows(found, system)[-2]
    return tr(
        "Whatever the date, clean it when the condensing temperature stands {limit} or more over outdoor air "
        "of {outdoor} (clean: {clean}).",
        limit=f"{at.text} {at.unit}",
        outdoor=f"{outdoor.text} {outdoor.unit}",
        clean=f"{clean.text} {clean.unit}",
    )


def ground_sentences(found: IntervalFindings) -> list[str]:
    """What the advice rests on besides the season, and what was assumed."""
    price = found.inputs.setting.tariff.unmet_cooling_price
    return [
        tr(
            "A cleaning costs {price} and removes {share} % of the dirt.",
            price=_money(found, found.cleaning.price),
            share=f"{100.0 * found.cleaning.restoration:.0f}",
        ),
        tr("The unit is taken to serve {years} more years; the weather repeats.", years=found.years),
        tr(
            "Cooling that the room goes without is counted as {price} {currency} a kWh: without "
            "a price on it a unit that stops would be the cheapest.",
            price=f"{price:g}",
            currency=found.inputs.currency,
        ),
        tr(
            "Dates are to five days; a date in the calendar is worth no more than the weather's "
            "habit of coming on time."
        ),
    ]


def interval_json(found: IntervalFindings, system: System) -> dict[str, Any]:
    """When to clean, for `--json`."""
    advised = advice(found)
    recommended = advised.recommended
    dates = recommended.dates if recommended.date is not None else ()
    return {
        **verdict_json(found.unit.whole_finding, system),
        "advice": recommended.advice,
        "date": recommended.date.isoformat() if recommended.date else None,
        "headline": advised.headline,
        "reasons": list(advised.reasons),
        "measuring": advised.measuring,
        "watch": watch_sentence(found, system),
        "warnings": list(found.inputs.warnings),
        "dates": [one.isoformat() for one in dates],
        "joint": joint_json(found),
        "figures": to_json(interval_figures(found)),
        "rules": {
            result.name: to_json(figures)
            for result, (_, figures) in zip(found.policies.results, rule_columns(found), strict=True)
        },
        "watched": [to_json(row) for row in watch_rows(found, system)],
        "swings": {
            swing.name: {
                "low": swing.low,
                "high": swing.high,
                "interval_low": _finite(swing.interval_low),
                "interval_high": _finite(swing.interval_high),
                "regret_low": round(swing.regret_low, 6),
                "regret_high": round(swing.regret_high, 6),
            }
            for swing in found.swings
        },
        "ground": ground_sentences(found),
    }


def _finite(years: float) -> float | str:
    return "never" if np.isinf(years) else round(years, 6)
