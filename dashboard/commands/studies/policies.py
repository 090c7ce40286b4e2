"""`coiltoll study policies`: what cleaning rules cost, beside a published simulation."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from dashboard.commands.demo import DEMO_CASE
from dashboard.commands.options import JsonOption

if TYPE_CHECKING:
    from calibration.studies.policies import PolicyStudy

CaseOption = Annotated[
    Path, typer.Argument(metavar="[CASE]", help="Case file (TOML).  [default: the demo]", show_default=False)
]


def policies(case: CaseOption = DEMO_CASE, as_json: JsonOption = False) -> None:
    """Cost of cleaning rules over twelve years against the best dates, for low to high cleaning prices.

    Rossi and Braun (1994) simulated a 20-ton unit. They report a cost at most 11.7 % above the best schedule
    for cleaning every year, and 4.2 % for cleaning only when comfort is lost.
    """
    from calibration.case.file import read_case
    from calibration.studies.policies import YEARS, policy_study
    from dashboard.commands import terminal

    parsed = read_case(case)
    with terminal.progress("Simulating rules") as advance:
        study = policy_study(parsed, progress=advance)
    if as_json:
        terminal.print_json({"unit": parsed.unit.name, "years": YEARS, **_json(study)})
        return
    headings = ["cleaned"]
    headings += [
        f"at {price:,.0f} ({share:.0%} of a year without cleaning)"
        for price, share in zip(study.prices, study.price_over_neglect, strict=True)
    ]
    headings += ["most", "published, most"]
    title = f"{parsed.unit.name}: cost over that of the best dates, {YEARS} years [%]"
    terminal.print_table(title, headings, _rows(study))
    yearly, comfort = (100.0 * study.over_best[name].max() for name in ("every year", "when comfort is lost"))
    order = "the published order" if yearly > comfort else "not the published order"
    terminal.print_lines(
        "No rule costs less than the best dates."
        if study.never_beaten
        else "A rule costs less than the best dates: their search has failed.",
        f"Most above the best dates: every year {yearly:.1f} %, only for comfort {comfort:.1f} %; {order}.",
        "Published: Rossi and Braun, Purdue 1994, a simulated 20-ton unit with other weather, fouling and "
        "price of comfort.",
    )


def _json(study: "PolicyStudy") -> dict[str, Any]:
    over = study.over_best
    return {
        "price": [round(float(price), 6) for price in study.prices],
        "price_over_neglect": [float(share) for share in study.price_over_neglect],
        "over_best": {name: [round(float(value), 9) for value in values] for name, values in over.items()},
        "most_over_best": {name: round(float(values.max()), 9) for name, values in over.items()},
        "published_most": study.published,
        "never_beaten": study.never_beaten,
    }


def _rows(study: "PolicyStudy") -> list[list[str]]:
    from dashboard.results.costs import cleaning_advice

    return [
        [
            cleaning_advice.RULES[name],
            *(f"{100.0 * value:.1f}" for value in values),
            f"{100.0 * values.max():.1f}",
            f"{100.0 * study.published[name]:.1f}" if name in study.published else "",
        ]
        for name, values in study.over_best.items()
    ]
