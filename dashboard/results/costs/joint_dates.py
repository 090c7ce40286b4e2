"""Joint dates of condenser, indoor coil and filter, as sentences, a table and JSON.

The dates are those of `calibration.costs.recommendation`; what is left undone costs what
`calibration.costs.joint_plan` says.
"""

from typing import Any

from calibration.costs.cleaning_interval import IntervalFindings
from calibration.costs.recommendation import recommendation
from dashboard.results.costs.season_cost import money_figure
from dashboard.results.costs.when_words import date_words
from dashboard.results.figures import Figure, to_json, with_interval
from dashboard.texts.translate import tr

WORK = {
    "condenser": "clean the condenser",
    "indoor coil": "clean the indoor coil",
    "filter": "change the filter",
}
HEADINGS = ["", "next", "times in {years} years", "dirt and jobs a year [{currency}]"]
FILTERS = (
    "A filter also keeps dirt off the indoor coil, which is not counted: change it at least as often as its "
    "maker says."
)


def joint_sentences(found: IntervalFindings) -> list[str]:
    """What to do when, with one call-out for all, and what one job alone leaves; nothing without a plan."""
    if found.joint is None:
        return []
    by_date: dict[str, list[str]] = {}
    for name, dates in recommendation(found).jobs:
        by_date.setdefault(date_words(dates[0]) if dates else "", []).append(tr(WORK[name]))
    never = by_date.pop("", [])
    told = "; ".join(f"{when}: {_listed(work)}" for when, work in by_date.items())
    lines = [
        tr("Next visits, each with one call-out: {visits}.", visits=told) if told else tr("No visit pays.")
    ]
    if never and told:
        lines.append(
            tr(
                "In {years} years it does not pay to {work}.",
                years=found.years,
                work=_listed(never, tr(" or ")),
            )
        )
    money = {one.key: with_interval(one) for one in joint_figures(found)}
    lines.append(
        tr(
            "So dirt, jobs and call-outs together come to {planned}; to {alone} where only the condenser is "
            "cleaned, and to {nothing} where nothing is done.",
            planned=money["joint"],
            alone=money["only_condenser"],
            nothing=money["nothing"],
        )
    )
    return lines


def _listed(words: list[str], last: str = "") -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])}{last or tr(' and ')}{words[-1]}"


def joint_figures(found: IntervalFindings) -> list[Figure]:
    """What dirt, jobs and call-outs come to in a year: the plan, each job alone, nothing done."""
    plan, currency = found.joint, found.inputs.currency
    if plan is None:
        return []
    rows = [
        ("joint", tr("As planned"), plan.course.cost_per_year),
        *(
            (f"only_{name.replace(' ', '_')}", tr("Only to {work}", work=tr(WORK[name])), cost)
            for name, cost in plan.only_per_year.items()
        ),
        ("nothing", tr("Nothing done"), plan.never_per_year),
    ]
    return [
        money_figure(key, label, cost - plan.clean_per_year, currency, per=tr("a year"))
        for key, label, cost in rows
    ]


def joint_table(found: IntervalFindings) -> tuple[list[str], list[list[str]]]:
    """Headings and rows: every job, its next date, how often, and what is left where it is the only one."""
    alone = {one.key: one for one in joint_figures(found)}
    headings = [
        tr("job"),
        tr("next"),
        tr("times in {years} years", years=found.years),
        tr("dirt and jobs if only this is done [{currency} a year]", currency=found.inputs.currency),
    ]
    rows = [
        [
            tr(WORK[name]),
            date_words(dates[0]) if dates else tr("does not pay"),
            f"{len(dates)}",
            alone[f"only_{name.replace(' ', '_')}"].text,
        ]
        for name, dates in recommendation(found).jobs
    ]
    return headings, rows


def joint_grounds(found: IntervalFindings) -> list[str]:
    """What the plan rests on, and what was assumed; nothing without a plan."""
    if found.joint is None:
        return []
    side = found.joint.side
    price = with_interval(money_figure("", "", side.call_out, found.inputs.currency))
    return [
        tr(
            "Joint dates are of the most likely unit; a call-out costs {price}, each job its own "
            "price on top.",
            price=price,
        ),
        *(tr("Assumed: {assumption}.", assumption=tr(one)) for one in side.assumptions),
        *([tr(FILTERS)] if "filter" in side.planned else []),
    ]


def joint_json(found: IntervalFindings) -> dict[str, Any] | None:
    """Joint dates and what they come to, for `--json`; null without a plan."""
    if found.joint is None:
        return None
    return {
        "dates": {name: [one.isoformat() for one in dates] for name, dates in recommendation(found).jobs},
        "figures": to_json(joint_figures(found)),
        "sentences": joint_sentences(found),
        "ground": joint_grounds(found),
    }
