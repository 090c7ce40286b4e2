"""Two visits at the same conditions as figures, rows and sentences, for every screen and the report."""

from typing import Any

from calibration.case.keys import find_key
from calibration.case.units import GAUGE_PRESSURE, PRESSURE_DIFFERENCE, Quantity, System
from calibration.diagnosis.same_weather import LikeForLike, Moved
from calibration.estimate import Estimate
from dashboard.results.figures import Figure, figure, of_quantity, percent, to_json
from dashboard.results.wording import words_of
from dashboard.texts.translate import tr

HEADINGS = ("", "first", "second", "raw difference", "first, moved", "second, moved", "remaining", "weather")


def row_figures(row: Moved, system: System, ambient_pressure: float) -> dict[str, Figure]:
    """Figures of one row: measured, moved and their differences, with 90 % ranges."""

    def value(one: Estimate) -> Figure:
        return figure(row.figure, one.value, system, interval=one.ends, ambient_pressure=ambient_pressure)

    return {
        "first": value(row.first),
        "second": value(row.second),
        "raw": _difference(row, row.raw, system),
        "first_moved": value(row.first_moved),
        "second_moved": value(row.second_moved),
        "remaining": _difference(row, row.remaining, system),
    }


def _difference(row: Moved, one: Estimate, system: System) -> Figure:
    quantity = _quantity_of_difference(row.figure)
    base = of_quantity(row.figure, words_of(row.figure), one.value, quantity, system)
    low, high = (float(quantity.from_si(end, system)) for end in one.ends)
    return Figure(base.key, base.label, base.value, base.unit, base.decimals, low, high)


def _quantity_of_difference(name: str) -> Quantity:
    row = find_key(name)
    if row is None or row.quantity is None:
        raise ValueError(f"figure must name a quantity of calibration.case.keys, got {name!r}")
    return PRESSURE_DIFFERENCE if row.quantity is GAUGE_PRESSURE else row.quantity


def table_rows(found: LikeForLike, system: System) -> list[tuple[str, ...]]:
    """Cells under `HEADINGS`, one row a figure."""
    rows: list[tuple[str, ...]] = []
    for row in found.rows:
        shown = row_figures(row, system, found.common.ambient_pressure)
        share = row.weather_share
        rows.append(
            (
                shown["first"].heading,
                shown["first"].text,
                shown["second"].text,
                f"{shown['raw'].text} ({shown['raw'].interval_text})",
                shown["first_moved"].text,
                shown["second_moved"].text,
                f"{shown['remaining'].text} ({shown['remaining'].interval_text})",
                "-" if share is None else percent(share),
            )
        )
    return rows


def sentences(found: LikeForLike, system: System) -> list[str]:
    """What remains and what was only weather, in plain words."""
    told = [
        tr(
            "Both visits moved to the {weather}; the difference is {first} less {second}.",
            weather=tr(found.common.words),
            first=found.first,
            second=found.second,
        )
    ]
    for row in found.rows:
        shown = row_figures(row, system, found.common.ambient_pressure)["remaining"]
        amount = f"{shown.text} {shown.unit} ({shown.interval_text})"
        if row.excludes_zero:
            told.append(
                tr(
                    "{figure}: {amount} remains and is not weather.",
                    figure=words_of(row.figure),
                    amount=amount,
                )
            )
        else:
            told.append(
                tr(
                    "{figure}: {amount} remains; within measurement error.",
                    figure=words_of(row.figure),
                    amount=amount,
                )
            )
    return [*told, *suspect_sentences(found)]


def suspect_sentences(found: LikeForLike) -> list[str]:
    """Suspect readings of either visit, and that what the others support stands in their place."""
    return [
        tr(
            "{visit}: {reading} is suspect; the value that the others support was used in its place.",
            visit=label,
            reading=words_of(name),
        )
        for label, names in zip((found.first, found.second), found.suspects, strict=True)
        for name in names
    ]


def alike_json(found: LikeForLike, system: System) -> dict[str, Any]:
    """The two visits for `--json`."""
    return {
        "first": found.first,
        "second": found.second,
        "conditions": found.common.words,
        "faults": [{one.fault: round(one.level.value, 6) for one in levels} for levels in found.faults],
        "suspect_readings": [list(names) for names in found.suspects],
        "rows": {
            row.figure: {
                **{
                    name: to_json([one])[row.figure]
                    for name, one in row_figures(row, system, found.common.ambient_pressure).items()
                },
                "weather_share": None if row.weather_share is None else round(row.weather_share, 6),
                "excludes_zero": row.excludes_zero,
            }
            for row in found.rows
        },
        "sentences": sentences(found, system),
    }
