"""A fleet's results as rows and sentences: ranking, totals with their ranges, what was left out."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from calibration.fleet.alike import ODD_BELOW
from calibration.fleet.listed_units import LeftOut
from calibration.fleet.ranking import RANKED_BY, By, Row, Total, mean_of, ranked, total, totals_by_currency
from calibration.fleet.run import Run
from dashboard.results.figures import percent, probability, range_words, shown
from dashboard.results.wording import NEEDS, VERDICTS, words_of
from dashboard.texts.translate import capital, tr, tr_many

SHOWN = 20
"""Units of a ranking that are printed; all of them are in the table."""
NOT_ALONE = "a unit worked out alone does not know of these"
ODD_SHOWN = 5
"""Units with a doubtful nameplate that are named."""
PROBLEMS_SHOWN = 10
"""Problems that are printed."""
ROWS_SHOWN = 20
"""Rows of a source that were left out and are shown with what is wrong; all of them are in the file."""
ADVICE = {
    "now": "clean now",
    "later": "clean later",
    "measure_first": "measure first",
    "leave": "leave it",
    "not_a_cleaning_matter": "other work",
    "": "",
}
"""Advice on the condenser, as it stands in a table."""
HEADINGS = (
    "unit",
    "site",
    "verdict",
    "fouling",
    "lost EER",
    "mean a year",
    "90 % range",
    "advice",
    "by",
    "read next",
)
BY_UNITS = {"kwh_year": "kWh", "unmet_hours": "h"}
"""Units of what is ranked by, money apart."""
BY_WORDS = {
    "money": "cost of fouling in a year",
    "energy": "electricity that fouling adds in a year",
    "comfort": "unmet-load hours that fouling adds in a year",
    "knowing": "value of a visit that only measures",
}


def headings(by: By = "money") -> tuple[str, ...]:
    """Headings over `ranking_rows`: the worth of a visit is of one, all else is of a year."""
    return tuple("a visit's worth" if one == "mean a year" and by == "knowing" else one for one in HEADINGS)


def ranking_rows(rows: Sequence[Row], by: By = "money") -> list[tuple[str, ...]]:
    """Units in order, as cells under `HEADINGS`.

    Parameters
    ----------
    rows : sequence of mapping
        Of the table of results.
    by : str
        What they are ranked by.

    Returns
    -------
    list of tuple of str
        At most `SHOWN`.
    """
    return [_cells(row, RANKED_BY[by]) for row in ranked(rows, by)[:SHOWN]]


def _cells(row: Row, column: str) -> tuple[str, ...]:
    value, low, high = mean_of(row, column), row.get(f"{column}_low"), row.get(f"{column}_high")
    unit = BY_UNITS.get(column, str(row.get("currency") or ""))
    supposed = tr(" if fouled") if row.get("if_fouled") else ""
    share, lost = row.get("probability_of_fouling"), row.get("eer_lost")
    return (
        str(row["unit"]),
        str(row["site"]),
        tr(VERDICTS.get(str(row["verdict"]), "")),
        "" if share is None else probability(share),
        "" if lost is None else percent(lost),
        "" if value is None else f"{shown(value)} {unit}{supposed}".strip(),
        range_words(low, high),
        advice_words(row),
        str(row["clean_by"]),
        reading_words(str(row["next_reading"])),
    )


def advice_words(row: Row) -> str:
    """What to do about a unit, in a few words."""
    advice = str(row.get("advice") or "")
    if advice != "not_a_cleaning_matter":
        return tr(ADVICE.get(advice, advice))
    claimed = [tr(NEEDS.get(one, one)) for one in str(row.get("treatments") or "").split("; ") if one]
    return ", ".join(claimed) or tr("no cleaning")


def reading_words(reading: str) -> str:
    """A reading to take next in words; empty for none."""
    if not reading:
        return ""
    words = words_of(reading.removesuffix(" again"))
    return tr("{reading}, again", reading=words) if reading.endswith(" again") else words


def total_sentences(rows: Sequence[Row]) -> list[str]:
    """What the fleet's fouling costs in a year, with ranges.

    Parameters
    ----------
    rows : sequence of mapping
        Of the table of results.

    Returns
    -------
    list of str
        One sentence a currency, and one on electricity.
    """
    said = [
        tr_many(
            "Fouling of {number} unit costs {money} a year.",
            "Fouling of {number} units costs {money} a year.",
            one.units,
            money=f"{_spanned(one)} {currency}",
        )
        for currency, one in totals_by_currency(rows).items()
        if one.units
    ]
    energy = total(rows, "kwh_year")
    if energy.units:
        said.append(tr("It adds {energy} kWh of electricity a year.", energy=_spanned(energy)))
        said.append(
            tr(
                "Counted is the mean over all that a unit's readings leave open, a clean coil among it. 90 % "
                "ranges of totals take errors of units as independent; if all were off the same way it would "
                "be {ends} kWh.",
                ends=range_words(energy.low_together, energy.high_together),
            )
        )
    supposed = sum(bool(row.get("if_fouled")) and row.get("money_year") is not None for row in rows)
    if supposed:
        said.append(
            tr_many(
                "Not counted: {number} unit whose readings point to something other than fouling.",
                "Not counted: {number} units whose readings point to something other than fouling.",
                supposed,
            )
        )
    return said


def learnt_sentences(rows: Sequence[Row]) -> list[str]:
    """How many units' clean baselines, growth, costs and dates rest on other units too.

    Parameters
    ----------
    rows : sequence of mapping
        Of the table of results.

    Returns
    -------
    list of str
        None where no unit has learnt from others.
    """
    learnt, alike = sum(map(has_learnt, rows)), sum(map(_leans, rows))
    said = []
    if learnt:
        said.append(
            tr(
                "growth, costs and dates of {number} of {all} units rest on what other units show too",
                number=learnt,
                all=len(rows),
            )
        )
    if alike:
        said.append(
            tr(
                "the clean baseline of {number} of {all} leans on others with the same nameplate",
                number=alike,
                all=len(rows),
            )
        )
    sentences = [f"{capital('; '.join([*said, tr(NOT_ALONE)]))}."] if said else []
    odd = [f"{row['unit']}{_at(row)}" for row in rows if _is_odd(row)]
    if odd:
        more = tr(" and {number} more", number=len(odd) - ODD_SHOWN) if len(odd) > ODD_SHOWN else ""
        sentences.append(
            tr(
                "By clean visits probably another machine than the nameplate says, to be checked: {units}.",
                units=f"{', '.join(odd[:ODD_SHOWN])}{more}",
            )
        )
    return sentences


def has_learnt(row: Row) -> bool:
    """Whether what other units show is in a row's growth, costs and date."""
    return "other units" in str(row.get("growth_from") or "")


def _leans(row: Row) -> bool:
    """Whether a row's clean baseline rests on other units; one that is unlike them does not."""
    return bool(row.get("other_units_alike")) and not _is_odd(row)


def _is_odd(row: Row) -> bool:
    """Whether a unit is probably not what its nameplate says."""
    alike = row.get("probability_alike")
    return alike is not None and float(alike) < ODD_BELOW


def alike_sentence(row: Row) -> str:
    """What a unit's clean baseline owes to others of its nameplate.

    Parameters
    ----------
    row : mapping
        Of the table of results.

    Returns
    -------
    str
        Empty where it rests on its own nameplate and visits alone.
    """
    count = int(row.get("other_units_alike") or 0)
    if _leans(row):
        return tr_many(
            "The clean baseline leans on {number} other unit with the same nameplate.",
            "The clean baseline leans on {number} other units with the same nameplate.",
            count,
        )
    if count and _is_odd(row):
        return tr_many(
            "By its clean visits this unit is like {number} other unit with the same nameplate with a"
            " probability of only {probability}: check the nameplate. Its clean baseline rests on its own"
            " visits.",
            "By its clean visits this unit is like {number} other units with the same nameplate with a"
            " probability of only {probability}: check the nameplate. Its clean baseline rests on its own"
            " visits.",
            count,
            probability=probability(float(row["probability_alike"])),
        )
    return ""


def _others_alike(row: Row) -> str:
    count = int(row["other_units_alike"])
    return "1 other unit" if count == 1 else f"{count} other units"


def unit_sentence(row: Row) -> str:
    """What the table of all units has for a unit, for the page of the unit alone.

    Parameters
    ----------
    row : mapping
        Of the table of results.

    Returns
    -------
    str
        Empty where it has learnt nothing from other units: then it says the same as the page.
    """
    return _beside_alone(_growth_learnt(row), _clean_learnt(row))


def clean_sentence(row: Row) -> str:
    """What the table of all units has for a unit's finding, for pages of the unit alone that know no growth.

    Parameters
    ----------
    row : mapping
        Of the table of results.

    Returns
    -------
    str
        Empty where its clean baseline leans on no other unit.
    """
    return _beside_alone(_clean_learnt(row))


def _beside_alone(*said: str) -> str:
    words = [one for one in said if one]
    return " ".join([*words, "The figures here know this unit alone."]) if words else ""


def _growth_learnt(row: Row) -> str:
    """Growth, advice and date by the table where it has learnt from other units; empty where it has not."""
    if not has_learnt(row) or row.get("growth_rate") is None:
        return ""
    low, value, high = (100.0 * float(row[f"growth_rate{end}"]) for end in ("_low", "", "_high"))
    advised = f"{advice_words(row)}{', by ' + row['clean_by'] if row.get('clean_by') else ''}"
    others, here = int(row["other_units"] or 0), int(row["other_units_here"] or 0)
    return (
        f"The table of all units has learnt from {others} other units, {here} of them at this site: growth"
        f" {value:.0f} ({low:.0f} to {high:.0f}) points a year; {advised}."
    )


def _clean_learnt(row: Row) -> str:
    """What the table finds where its clean baseline leans on other units, or why it does not; else empty."""
    if not _leans(row):
        return alike_sentence(row)
    figures = [
        f"{words} {percent(row[name])} ({_bare(row[f'{name}_low'])} to {percent(row[f'{name}_high'])})"
        for name, words in (("level", "blocked share"), ("eer_lost", "EER lost"))
        if row.get(f"{name}_low") is not None
    ]
    leans = (
        f"In the table of all units the clean baseline leans on {_others_alike(row)} with the same nameplate"
    )
    return f"{leans}: {', '.join(figures)}." if figures else f"{leans}."


def _bare(share: float) -> str:
    return percent(share).removesuffix("%").strip()


def _spanned(one: Total) -> str:
    return f"{shown(one.value)} ({range_words(one.low, one.high)})"


def run_sentences(run: Run) -> list[str]:
    """What was done, and what could not be.

    Parameters
    ----------
    run : Run
        Of a fleet.

    Returns
    -------
    list of str
        The table first.
    """
    kept = run.units - run.worked_out
    counts = f"{run.units} units, {run.worked_out} worked out, {kept} known from before or without readings"
    said = [f"{run.table}: {counts}"]
    problems = [row for row in run.rows if row["problem"]]
    said += [f"{row['unit']}{_at(row)}: {row['problem']}" for row in problems[:PROBLEMS_SHOWN]]
    if len(problems) > PROBLEMS_SHOWN:
        said.append(f"and {len(problems) - PROBLEMS_SHOWN} more units with a problem, see the table")
    return said


def left_out_rows(left: Sequence[LeftOut]) -> list[tuple[str, str]]:
    """The first rows that were left out: where each is, and what is wrong with it.

    Parameters
    ----------
    left : sequence of LeftOut

    Returns
    -------
    list of (str, str)
        At most `ROWS_SHOWN`.
    """
    return [(one.place, one.sentence) for one in left[:ROWS_SHOWN]]


def more_rows(left: Sequence[LeftOut], file: str) -> str:
    """How many more rows were left out than are shown, and where all of them are; empty where none is."""
    more = len(left) - ROWS_SHOWN
    return f"and {more} more, all in {file}" if more > 0 else ""


def left_out_sentences(run: Run, sources: Sequence[Path]) -> list[str]:
    """Each row that was left out with what is wrong with it, and how to read it again.

    Parameters
    ----------
    run : Run
        Of a fleet.
    sources : sequence of Path
        What was read.

    Returns
    -------
    list of str
        Empty where every row was good.
    """
    if run.to_correct is None:
        return []
    more = more_rows(run.left_out, str(run.to_correct))
    read = " ".join(map(str, sources))
    rows = "1 row was" if len(run.left_out) == 1 else f"{len(run.left_out)} rows were"
    return [
        *(f"{place}: {sentence}" for place, sentence in left_out_rows(run.left_out)),
        *([more] if more else []),
        f"{rows} left out: correct what is wrong in {run.to_correct} and read both, other options as they"
        f" were: coiltoll fleet {read} {run.to_correct} -o {run.table}",
    ]


def _at(row: Row) -> str:
    return f" ({row['site']})" if row["site"] else ""


def fleet_json(run: Run, rows: Sequence[Row]) -> dict[str, Any]:
    """A run for `--json`, with the rows and totals of the units that are asked for."""
    return {
        "written": str(run.table),
        "units": run.units,
        "worked_out": run.worked_out,
        "rows_left_out": [{"row": one.place, "problem": one.sentence} for one in run.left_out],
        "to_correct": None if run.to_correct is None else str(run.to_correct),
        "totals": {
            "money_year": {currency: total_json(one) for currency, one in totals_by_currency(rows).items()},
            "kwh_year": total_json(total(rows, "kwh_year")),
        },
        "rows": [{**row, "clean_baseline": alike_sentence(row)} for row in rows],
    }


def unknown_filters(rows: Sequence[Row], asked: Mapping[str, Sequence[str]]) -> list[str]:
    """What is asked for and no unit is of, with what there is.

    Parameters
    ----------
    rows : sequence of mapping
        All rows of the table of results.
    asked : mapping of str to sequence of str
        Names that are asked for, by column.

    Returns
    -------
    list of str
        A sentence for each such name.
    """
    said = []
    for column, names in asked.items():
        there = sorted({str(row.get(column) or "") for row in rows} - {""})
        known = {one.casefold() for one in there}
        some = ", ".join(there[:SHOWN]) + (" and others" if len(there) > SHOWN else "")
        said += [
            f"--{column}: no unit is of {name!r}; there are {some or 'none with any'}"
            for name in names
            if name.casefold() not in known
        ]
    return said


def total_json(one: Total) -> dict[str, float]:
    """A total for `--json`."""
    return {
        "value": round(one.value, 6),
        "low": round(one.low, 6),
        "high": round(one.high, 6),
        "low_together": round(one.low_together, 6),
        "high_together": round(one.high_together, 6),
        "units": one.units,
    }
