"""Charts of what a fouling costs and when to clean, for pages and report alike."""

import numpy as np

from calibration.costs.cleaning_interval import IntervalFindings
from calibration.costs.season_cost import SeasonFindings
from dashboard.charts import style
from dashboard.charts.chart import Axis, Band, Bars, Chart, Curve, HeatMap, Layer
from dashboard.results.costs.season_cost import MONTHS, month_columns
from dashboard.results.costs.sensitivity import SWINGS, effect_rows, swing_words
from dashboard.results.costs.when_words import day_words, interval_words
from dashboard.texts.translate import tr
from model.arrays import Array
from model.maintenance.cleaning_decision import Sensitivity
from model.maintenance.interval import LONGEST_INTERVAL
from model.season.weather_year import DAYS_IN_MONTH, DAYS_PER_YEAR, HOURS_PER_DAY

STEEP = 2.5  # cost over that of never cleaning from which short intervals are not drawn [-]
YEAR_TICKS = tuple((years, f"{years:g}") for years in (0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0))
_FIRST_DAYS = np.cumsum((0, *DAYS_IN_MONTH[:-1]))
HOUR_TICKS = tuple((float(hour), f"{hour}:00") for hour in range(0, 24, 4))
CAPPED = 1.05 * LONGEST_INTERVAL  # where the bar of "never" ends [years]
PALE = style.Role("", style.GRID, (), "o")


def month_ticks() -> tuple[tuple[float, str], ...]:
    """First day of each month, and its name."""
    return tuple((float(day), tr(name)) for day, name in zip(_FIRST_DAYS, MONTHS, strict=True))


def interval_chart(found: IntervalFindings) -> Chart:
    """Cost of fouling and cleaning against the interval between cleanings, with its 90 % range and minimum.

    Parameters
    ----------
    found : IntervalFindings

    Returns
    -------
    Chart
        Years between cleanings along x, money a year over an always clean unit along y.
    """
    costs, currency = found.costs, found.inputs.currency
    clean, never = float(costs.clean_per_year[0]), float(costs.never_per_year[0])
    extra = costs.cost_per_year[0] - clean
    cheapest = float(costs.advised_per_year[0]) - clean
    drawn = extra <= STEEP * max(never - clean, cheapest, 1e-9)
    drawn[-2:] = True
    years = costs.interval[drawn]
    low, high = _band(found, years)
    ends = np.array([years[0], years[-1]])
    layers: list[Layer] = [
        Band(years, low, high, style.EXPECTED, tr("90 % range")),
        Curve(ends, np.full(2, never - clean), style.SECOND, tr("never cleaned")),
        Curve(years, found.cleaning.price / years, style.BACKGROUND, tr("cleaning alone")),
        Curve(years, extra[drawn], style.EXPECTED, tr("fouling and cleaning, any day")),
        *_best_days(found, clean),
    ]
    described = tr(
        "Yearly cost of fouling and cleaning above that of an always clean unit, against the interval "
        "between cleanings. Least when cleaned {best}: {cheapest} {currency} a year.",
        best=interval_words(float(costs.advised_interval[0]), int(costs.advised_day[0])),
        cheapest=f"{cheapest:,.0f}",
        currency=currency,
    )
    first, last = float(years[0]), float(years[-1])
    top = 1.15 * float(max(extra[drawn].max(), never - clean))
    return Chart(
        title=tr("Cost of fouling and cleaning"),
        description=described,
        x=Axis(tr("interval between cleanings"), tr("years"), first, last, log=True, ticks=_ticks(years)),
        y=Axis(tr("cost"), tr("{currency} a year", currency=currency), 0.0, top),
        layers=tuple(layers),
    )


def _ticks(years: Array) -> tuple[tuple[float, str], ...]:
    return tuple(tick for tick in YEAR_TICKS if years[0] <= tick[0] <= years[-1] * 1.001)


def _band(found: IntervalFindings, years: Array) -> tuple[Array, Array]:
    """90 % range of the draws, each above its own always clean unit."""
    drawn = found.drawn
    extra = np.array(
        [
            np.interp(years, drawn.interval, row - clean)
            for row, clean in zip(drawn.cost_per_year, drawn.clean_per_year, strict=True)
        ]
    )
    low, high = np.quantile(extra, [0.05, 0.95], axis=0)
    return np.asarray(low), np.asarray(high)


def _best_days(found: IntervalFindings, clean: float) -> list[Layer]:
    """Whole years on their best day, and the least of all."""
    costs = found.costs
    labels = tuple(
        f"{interval_words(float(years))}, {day_words(int(day))}"
        for years, day in zip(costs.whole_years, costs.whole_day[0], strict=True)
    )
    layers: list[Layer] = [
        Curve(
            costs.whole_years.astype(float),
            costs.whole_per_year[0] - clean,
            style.CLEAN,
            tr("on the best day of the year"),
            line=False,
            markers=True,
            labels=labels,
        )
    ]
    best = float(costs.advised_interval[0])
    if np.isfinite(best):
        place = np.array([best]), np.array([float(costs.advised_per_year[0]) - clean])
        layers.append(
            Curve(
                *place, style.MEASURED, tr("least"), line=False, markers=True, labels=(interval_words(best),)
            )
        )
    return layers


def day_chart(found: IntervalFindings) -> Chart:
    """Cost of a yearly cleaning against its day, above that of an always clean unit."""
    currency, clean = found.inputs.currency, float(found.costs.clean_per_year[0])
    extra = found.yearly_costs - clean
    best = int(np.argmin(extra))
    days = found.yearly_days.astype(float)
    least = f"{day_words(int(found.yearly_days[best]))}"
    return Chart(
        title=tr("Cost of a yearly cleaning, by its day"),
        description=(
            tr(
                "Cost of fouling and a yearly cleaning above that of an always clean unit, against the day "
                "of the cleaning: least about {day}, {least} {currency} a year; most {most}.",
                day=least, least=f"{extra[best]:,.0f}", currency=currency, most=f"{extra.max():,.0f}",
            )
        ),
        x=Axis(tr("day of the cleaning"), "", 0.0, float(DAYS_PER_YEAR), ticks=month_ticks()),
        y=Axis(tr("cost"), tr("{currency} a year", currency=currency), 0.0, 1.1 * float(extra.max())),
        layers=(
            Curve(days, extra, style.EXPECTED, tr("cleaned on this day")),
            Curve(
                days[[best]], extra[[best]], style.MEASURED, tr("least: {day}", day=least), line=False,
                markers=True, labels=(least,),
            ),
        ),
    )  # fmt: skip


def month_chart(found: SeasonFindings) -> Chart:
    """Cost of fouling in each month: as it is today, and as it grows."""
    currency = found.inputs.currency
    (held_name, held), (growing_name, growing) = (
        (name, {one.label: one for one in figures if one.key != "year"})
        for name, figures in month_columns(found)
    )
    labels = tuple(name for name in map(tr, MONTHS) if name in held or name in growing)
    bars = [
        np.array([float(one[name].value or 0.0) if name in one else 0.0 for name in labels])
        for one in (held, growing)
    ]
    texts = tuple(growing[name].text if name in growing else "" for name in labels)
    dearest = labels[int(np.argmax(bars[1]))] if labels else ""
    return Chart(
        title=tr("Cost of fouling by month"),
        description=(
            tr(
                "Cost of fouling in each month, unmet cooling in it, as it is today and as it grows; "
                "most in {dearest}.",
                dearest=dearest,
            )
        ),
        x=Axis(tr("cost of fouling"), tr("{currency} a month", currency=currency), *_with_room(bars)),
        y=Axis(""),
        layers=(
            Bars(labels, np.zeros(len(labels)), bars[1], style.EXPECTED, growing_name, texts),
            Bars(labels, np.zeros(len(labels)), bars[0], style.CLEAN, held_name),
        ),
    )


def _with_room(bars: list[Array]) -> tuple[float, float]:
    """Ends of an axis that leaves room for the texts at the ends of bars."""
    lowest = min((float(one.min()) for one in bars if one.size), default=0.0)
    highest = max((float(one.max()) for one in bars if one.size), default=0.0)
    return min(1.2 * lowest, 0.0), max(1.2 * highest, 0.01)


def year_map(found: SeasonFindings, growing: bool = False) -> Chart | None:
    """Extra watts in every hour of a year.

    Parameters
    ----------
    found : SeasonFindings
    growing : bool
        Whether the fouling grows from today on; else it stays as it is.

    Returns
    -------
    Chart or None
        Days along x, hours of the day along y; None where the weather has no hours.
    """
    watts = found.extra_coming if growing else found.extra_today
    if watts is None:
        return None
    day, hour = np.unravel_index(int(np.argmax(watts)), watts.shape)
    words = tr("as it grows from today") if growing else tr("as it is today")
    middles = [np.arange(count) + np.float64(0.5) for count in (DAYS_PER_YEAR, HOURS_PER_DAY)]
    return Chart(
        title=tr("Extra power, hour by hour"),
        description=(
            tr(
                "Power added by fouling in every hour of a year, {fouling}: at most {most} W, on {day} at "
                "{hour}:00.",
                fouling=words,
                most=f"{watts.max():,.0f}",
                day=day_words(int(day)),
                hour=int(hour),
            )
        ),
        x=Axis(tr("day of the year"), "", 0.0, float(DAYS_PER_YEAR), ticks=month_ticks()),
        y=Axis(tr("hour of the day"), "", 0.0, float(HOURS_PER_DAY), ticks=HOUR_TICKS),
        layers=(HeatMap(middles[0], middles[1], np.maximum(watts.T, 0.0), tr("extra power [W]")),),
    )


def swing_chart(found: IntervalFindings) -> Chart:
    """How the interval moves when an input is other than assumed, the widest swing first."""
    usual = min(float(found.base.advised_interval[0]), CAPPED)
    labels = tuple(tr(SWINGS[swing.name]) for swing in found.swings)
    ends = [
        np.array([min(years, CAPPED) for years in side])
        for side in zip(*((one.interval_low, one.interval_high) for one in found.swings), strict=True)
    ]
    base = np.full(len(labels), usual)
    outer = np.minimum(np.minimum(*ends), usual), np.maximum(np.maximum(*ends), usual)
    widest, unchanged = found.swings[0], interval_words(float(found.base.advised_interval[0]))
    return Chart(
        title=tr("What changes the advice"),
        description=(
            tr(
                "Best interval between cleanings, {unchanged}, and how it changes with each input; "
                "most with {input}: {intervals}.",
                unchanged=unchanged,
                input=tr(SWINGS[widest.name]),
                intervals=_swing_text(widest),
            )
        ),
        x=Axis(
            tr("best interval between cleanings"), tr("years"), 0.0, 1.9 * float(max(outer[1].max(), usual))
        ),
        y=Axis(""),
        layers=(
            Bars(labels, *outer, PALE, "", tuple(_swing_text(one) for one in found.swings)),
            Bars(labels, base, ends[0], style.CLEAN, tr("at the low value")),
            Bars(labels, base, ends[1], style.EXPECTED, tr("at the high value")),
        ),
    )


def effect_chart(found: SeasonFindings) -> Chart | None:
    """How the yearly cost of a growing fouling moves with what is not known, the widest first."""
    rows = effect_rows(found)
    if not rows:
        return None
    labels = tuple(words for words, _, _ in rows)
    ends = [
        np.array([float(one.value or 0.0) for one in side])
        for side in ([low for _, low, _ in rows], [high for _, _, high in rows])
    ]
    middle = 0.5 * (ends[0] + ends[1])
    texts = tuple(tr("{low} to {high}", low=low.text, high=high.text) for _, low, high in rows)
    outer = np.minimum(*ends), np.maximum(*ends)
    return Chart(
        title=tr("What moves the cost as fouling grows"),
        description=(
            tr(
                "Mean yearly cost of the growing fouling at the 5th and at the 95th percentile of "
                "what is not known; most with {input}: {ends}.",
                input=labels[0],
                ends=texts[0],
            )
        ),
        x=Axis(
            tr("cost of fouling"),
            tr("{currency} a year", currency=found.inputs.currency),
            *_with_room(list(outer)),
        ),
        y=Axis(""),
        layers=(
            Bars(labels, *outer, PALE, "", texts),
            Bars(labels, middle, ends[0], style.CLEAN, tr("at the low value")),
            Bars(labels, middle, ends[1], style.EXPECTED, tr("at the high value")),
        ),
    )


def _swing_text(swing: Sensitivity) -> str:
    return "; ".join(swing_words(swing))
