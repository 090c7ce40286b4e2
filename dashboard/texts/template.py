"""All texts that a language file translates: `python -m dashboard.texts.template` writes `coiltoll.pot`.

They are those of every `tr("...")`, `tr_many("...", "...", number)` and `said("...")` in the code, and the
words of tables that are looked up by a key.
"""

import ast
import io
from collections.abc import Iterable, Iterator
from pathlib import Path

from calibration.case import keys
from calibration.costs import growth_fit, season_case
from dashboard.charts import cycle_traces
from dashboard.report import comparison_report, fleet_report, unit_page
from dashboard.results import cautions, match, next_steps, prediction, track, wording
from dashboard.results.costs import (
    cleaning_advice,
    joint_dates,
    season_cost,
    sensitivity,
    whole_unit,
    winter,
)
from dashboard.results.fleet import units

TEMPLATE = Path(__file__).with_name("coiltoll.pot")
HEADER = """# Texts of the report of Coiltoll, to be translated.
# Save it under another name that ends in .po, fill in the header and every msgstr, and use it with
#     coiltoll report CASE -o FILE --language THAT.po
# A {name} stands for a value and stays as it is; an empty msgstr leaves the English text.
msgid ""
msgstr ""
"Language: \\n"
"MIME-Version: 1.0\\n"
"Content-Type: text/plain; charset=utf-8\\n"
"Content-Transfer-Encoding: 8bit\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

"""
KEYWORDS = {"tr": 1, "tr_many": 2, "said": 1}
"""Functions whose texts are translated, with how many of their arguments are texts."""
PACKAGES = ("calibration", "dashboard")
WIDTH = 110
SECTIONS = ("visit", "fault", "result", "unit", "report")
"""Of the keys whose words the report prints."""


def template() -> str:
    """The template, as its file is to be.

    Returns
    -------
    str
        A gettext template (.pot). It names the module of a text, and no line of it, so that it changes when a
        text does.
    """
    from babel.messages.catalog import Catalog
    from babel.messages.pofile import write_po

    catalogue = Catalog()
    tables = ((module, text) for module, texts in tabled().items() for text in texts)
    for module, text in (*_marked(), *tables):
        catalogue.add(text, locations=[(module, 1)])
    out = io.BytesIO()
    write_po(out, catalogue, width=WIDTH, omit_header=True, include_lineno=False)
    return HEADER + out.getvalue().decode("utf-8")


def _marked() -> Iterator[tuple[str, str | tuple[str, ...]]]:
    """Texts in calls of `tr` and `tr_many`, with their modules."""
    root = Path(__file__).parents[2]
    for path in sorted(path for package in PACKAGES for path in (root / package).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in KEYWORDS:
                texts = [one.value for one in node.args if isinstance(one, ast.Constant)]
                found = tuple(one for one in texts[: KEYWORDS[node.func.id]] if isinstance(one, str))
                if found:  # else it is looked up in a table
                    yield path.relative_to(root).as_posix(), found if found[1:] else found[0]


def tabled() -> dict[str, Iterable[str]]:
    """Words that are looked up by a key, by the module that has them.

    Returns
    -------
    dict of str to iterable of str
    """
    return {
        "calibration/case/keys.py": (
            *(row.words for section in SECTIONS for row in keys.keys_of(section).values()),
            *keys.EXPANSIONS,
            *keys.COMPRESSORS,
            *keys.COILS,
        ),
        "calibration/costs/growth_fit.py": growth_fit.FORMS,
        "calibration/costs/indoor_side.py": ("indoor coil", "filter"),
        "calibration/costs/season_case.py": (season_case.HEATING_LEFT_OUT, season_case.WINTER_NEEDS_HOURS),
        "dashboard/charts/cycle_traces.py": (*cycle_traces.CYCLE_LABELS, *cycle_traces.AIR_LABELS),
        **_of_reports(),
        "dashboard/results/cautions.py": (*cautions.GENERAL, *cautions.FLAMMABLE.values()),
        **_of_costs(),
        "dashboard/results/fleet/units.py": (
            units.NOT_ALONE,
            *filter(None, units.ADVICE.values()),
            *units.BY_WORDS.values(),
        ),
        "dashboard/results/match.py": match.LEVELS.values(),
        "dashboard/results/next_steps.py": (
            next_steps.CLEANING_STEP,
            next_steps.NOTHING_MORE,
            next_steps.CLEAN_VISIT,
        ),
        "dashboard/results/prediction.py": (
            *prediction.CHANGE_WORDS.values(),
            *(prediction.changed_words(name) for name in prediction.CHANGE_WORDS),
        ),
        "dashboard/results/track.py": (track.CANNOT_SEPARATE, *track.CHANGES.values()),
        "dashboard/results/wording.py": _of_wording(),
    }


def _of_reports() -> dict[str, Iterable[str]]:
    return {
        "dashboard/report/comparison_report.py": comparison_report.BY_HAND,
        "dashboard/report/fleet_report.py": (
            *fleet_report.BEFORE,
            *fleet_report.FIRST_HEADINGS,
            *fleet_report.LINE_HEADINGS,
        ),
        "dashboard/report/unit_page.py": (
            unit_page.IF_FOULED,
            *(row[1] for row in (*unit_page.SHARES, *unit_page.YEARLY, *unit_page.MONEY, *unit_page.DATES)),
        ),
    }


def _of_wording() -> tuple[str, ...]:
    return (
        *wording.FAULTS.values(),
        *(wording.with_article(fault) for fault in wording.FAULTS),
        *wording.NEEDS.values(),
        *(wording.needed_with_article(treatment) for treatment in wording.NEEDS),
        *wording.ACTS.values(),
        *wording.CHECK_FIRST.values(),
        *wording.VERDICTS.values(),
        *wording.HOW.values(),
        *wording.CHECKS.values(),
        *wording.SEPARATING_ACTS.values(),
        *wording.MONTH_NAMES,
        "no fault",
        "none of these",
    )


def _of_costs() -> dict[str, Iterable[str]]:
    return {
        "dashboard/results/costs/cleaning_advice.py": (*cleaning_advice.RULES.values(),),
        "dashboard/results/costs/joint_dates.py": (joint_dates.FILTERS, *joint_dates.WORK.values()),
        "dashboard/results/costs/season_cost.py": (
            season_cost.NO_PRICE,
            *season_cost.MONTHS,
            *season_cost.MONEY.values(),
            *(row[1] for row in season_cost.ROWS),
        ),
        "dashboard/results/costs/sensitivity.py": (
            *sensitivity.INPUTS.values(),
            *sensitivity.SWINGS.values(),
            *sensitivity.YEARS_COMPARED,
        ),
        "dashboard/results/costs/whole_unit.py": (whole_unit.SHARES,),
        "dashboard/results/costs/winter.py": (winter.GROUND, *(row[1] for row in winter.ROWS)),
    }


if __name__ == "__main__":
    TEMPLATE.write_text(template(), encoding="utf-8")
