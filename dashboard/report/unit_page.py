"""A unit's own page in the report of many units: what the table of results has of it, in words."""

from collections.abc import Callable

from calibration.fleet.ranking import Row
from dashboard.report.parts import Block, Cards, Grid, Paragraph, Section
from dashboard.results.figures import percent, probability, shown
from dashboard.results.fleet import units as results
from dashboard.results.wording import VERDICTS, words_of
from dashboard.texts.translate import capital, tr

SHARES = (
    ("level", "Blocked share of the condenser's face"),
    ("eer_lost", "EER lost at the visit's weather"),
    ("capacity_lost", "Capacity lost at the visit's weather"),
)
YEARLY = (
    ("money_year", "Cost of fouling in a year", ""),
    ("money_year_mean", "Mean over all that the readings leave open", ""),
    ("winter_money_year", "of it in the heating season", ""),
    ("kwh_year", "Electricity that fouling adds in a year", "kWh"),
    ("unmet_hours", "Unmet-load hours that fouling adds in a year", "h"),
)
MONEY = (
    ("price", "Price of a cleaning"),
    ("saving_now", "What a cleaning now saves until the next planned one"),
    ("worth_of_measuring", "Most that measuring first may cost"),
    ("left_cost", "Cost of leaving the fault for 1,000 hours of running"),
)
DATES = (
    ("last_visit", "Last visit"),
    ("last_known_clean", "Last known to be clean"),
    ("as_of", "Worked out for"),
)
IF_FOULED = "The readings point to something other than fouling; costs suppose that the coil is fouled."


def unit_section(row: Row) -> Section:
    """Page of one unit.

    Parameters
    ----------
    row : mapping
        Of the table of results.

    Returns
    -------
    Section
        On a page of its own.
    """
    site = f", {row['site']}" if row.get("site") else ""
    blocks: list[Block] = [Paragraph(one, strong=True) for one in _first_words(row)]
    blocks += [Cards(cards)] if (cards := _cards(row)) else []
    blocks += [Grid(("", tr("value"), tr("90 % range")), figures)] if (figures := _figures(row)) else []
    said = (results.alike_sentence(row), _growth_words(row), str(row.get("problem") or ""))
    blocks += [Paragraph(one) for one in said if one]
    return Section(f"{row['unit']}{site}", tuple(blocks), new_page=True)


def _first_words(row: Row) -> list[str]:
    """What is to be done, and what the figures only suppose."""
    verdict = tr(VERDICTS.get(str(row.get("verdict") or ""), ""))
    advised, by = results.advice_words(row), row.get("clean_by")
    words = "; ".join(
        one
        for one in (verdict, tr("{work}, by {date}", work=advised, date=by) if by and advised else advised)
        if one
    )
    said = [f"{capital(words)}."] if words else []
    return said + ([tr(IF_FOULED)] if row.get("if_fouled") and row.get("money_year") is not None else [])


def _cards(row: Row) -> tuple[tuple[str, str, str], ...]:
    """The figures to see first."""
    cards = []
    if row.get("money_year") is not None:
        cost = f"{shown(row['money_year'])} {row['currency']}"
        cards.append((cost, tr("Cost of fouling in a year"), _range(row, "money_year", shown)))
    if row.get("level") is not None:
        cards.append((percent(row["level"]), tr("Blocked share of the face"), _range(row, "level", percent)))
    if row.get("probability_of_fouling") is not None:
        cards.append(
            (probability(row["probability_of_fouling"]), tr("Probability of a fouled condenser"), "")
        )
    return tuple(cards)


def _figures(row: Row) -> tuple[tuple[str, str, str], ...]:
    """Everything else that has a figure."""
    currency = str(row.get("currency") or "")
    lines = [
        (tr(words), percent(row[name]), _range(row, name, percent))
        for name, words in SHARES
        if row.get(name) is not None
    ]
    lines += [
        (tr(words), f"{shown(row[name])} {unit or currency}", _range(row, name, shown))
        for name, words, unit in YEARLY
        if row.get(name) is not None
    ]
    lines += [
        (tr(words), f"{shown(row[name])} {currency}", "")
        for name, words in MONEY
        if row.get(name) is not None
    ]
    lines += [(tr(words), str(row[name]), "") for name, words in DATES if row.get(name)]
    suspects = [words_of(one) for one in str(row.get("suspect_readings") or "").split("; ") if one]
    lines += [(tr("Suspect readings"), ", ".join(suspects), "")] if suspects else []
    following = results.reading_words(str(row.get("next_reading") or ""))
    return tuple(lines + ([(tr("Read next"), following, "")] if following else []))


def _range(row: Row, name: str, written: Callable[[float], str]) -> str:
    low, high = row.get(f"{name}_low"), row.get(f"{name}_high")
    return "" if low is None or high is None else tr("{low} to {high}", low=written(low), high=written(high))


def _growth_words(row: Row) -> str:
    """How fast it fouls, and what that rests on."""
    if row.get("growth_rate") is None:
        return ""
    ends = ("", "_low", "_high")
    value, low, high = (100.0 * float(row[f"growth_rate{end}"]) for end in ends)
    others = ""
    if results.has_learnt(row):
        others = tr(
            " ({number} of them, {here} at this site)",
            number=f"{row['other_units']:.0f}",
            here=f"{row['other_units_here']:.0f}",
        )
    return tr(
        "Growth: {value} ({low} to {high}) points a year; {source}{others}.",
        value=f"{value:.0f}",
        low=f"{low:.0f}",
        high=f"{high:.0f}",
        source=tr(str(row["growth_from"])),
        others=others,
    )
