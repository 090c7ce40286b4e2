"""Tables [season], [cleaning] and [[track]] of a case file to records in SI, and [season] back.

Weather, load, what electricity costs, a bill that says how large the load is, price and growth of fouling.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from calibration.case.entries import Table, Writing, entries_as_typed, entries_in_si
from calibration.case.errors import Path, Problems, shortened
from calibration.case.records import (
    BillEntry,
    CleaningEntry,
    Season,
    TariffBlock,
    TariffEntry,
    TariffPeriod,
    TrackedDay,
)
from calibration.case.units import System
from calibration.files.typical_years import (
    BINS,
    MONTHLY_MEANS,
    TYPICAL_YEARS,
    WEATHER_ENDINGS,
    near_places,
)

CLIMATE = ("monthly_means", "daily_ranges", "exceeded_1_percent", "exceeded_99_percent")
"""Keys that a typical year is made from."""
RATE_AND_RANGE = ("growth_rate", "growth_rate_low", "growth_rate_high")
LONGEST_BILL = 366
"""Days that a bill may be for [d]."""


def season_of(raw: Mapping[str, Any] | None, system: System, problems: Problems) -> Season | None:
    """Table [season].

    Parameters
    ----------
    raw : mapping or None
        Entries as typed.
    system : {"US", "SI"}
        System in which they were typed.
    problems : Problems
        Where faults are noted.

    Returns
    -------
    Season or None
        None where there is no such table.
    """
    if raw is None:
        return None
    values = entries_in_si(raw, Table("season", ("season",)), Writing(system), problems)
    if isinstance(raw.get("tariff"), Mapping):
        values["tariff"] = _tariff(raw["tariff"], system, problems)
    if isinstance(raw.get("bill"), Mapping):
        values["bill"] = _bill(raw["bill"], system, problems)
    balance, design = values.get("balance_temperature"), values.get("design_outdoor")
    if balance is not None and design is not None and balance >= design:
        problems.add(("season", "balance_temperature"), "less than design_outdoor is expected")
    changeover = values.get("economiser_below")
    if changeover is not None and design is not None and changeover >= design:
        problems.add(("season", "economiser_below"), "less than design_outdoor is expected")
    none, cold = values.get("heating_balance_temperature"), values.get("heating_design_outdoor")
    if none is not None and cold is not None and none <= cold:
        words = "more than heating_design_outdoor is expected"
        problems.add(("season", "heating_balance_temperature"), words)
    _check_weather(values.get("weather"), problems)
    tariff = values.get("tariff")
    if tariff is not None and tariff.generation and values.get("weather") == BINS:
        words = "an hourly year as weather is expected with it; temperature bins have no hours"
        problems.add(("season", "tariff", "generation"), words)
    _check_climate(values, problems)
    return Season(**values)


def _check_weather(weather: str | None, problems: Problems) -> None:
    """Refuse weather that is neither bins, a file by its ending, nor a typical year by its name."""
    if weather is None or weather in (BINS, MONTHLY_MEANS) or weather in TYPICAL_YEARS:
        return
    if not weather.lower().endswith(WEATHER_ENDINGS):
        endings, near = ", ".join(WEATHER_ENDINGS), ", ".join(near_places(weather))
        problems.add(
            ("season", "weather"),
            f"is {shortened(weather)}; {BINS}, {MONTHLY_MEANS}, a file ending in {endings}, or a typical "
            f"year by name ({near}) is expected",
        )


def _check_climate(values: Mapping[str, Any], problems: Problems) -> None:
    """Refuse monthly means of which a part is missing, or whose design temperatures lie within them."""
    given = [name for name in CLIMATE if values.get(name)]
    if values.get("weather") != MONTHLY_MEANS:
        if given:
            problems.add(("season", given[0]), f'weather = "{MONTHLY_MEANS}" is expected beside it')
        return
    for name in CLIMATE:
        if name not in given and not problems.has(("season", name)):
            problems.add(("season", name), f'is missing; it is expected with weather = "{MONTHLY_MEANS}"')
    if problems.at(("season",)):
        return
    means = values["monthly_means"]
    if values["exceeded_1_percent"] <= max(means):
        problems.add(("season", "exceeded_1_percent"), "more than the warmest month's mean is expected")
    if values["exceeded_99_percent"] >= min(means):
        problems.add(("season", "exceeded_99_percent"), "less than the coldest month's mean is expected")


def _tariff(raw: Mapping[str, Any], system: System, problems: Problems) -> TariffEntry | None:
    """What electricity costs, or None with its faults noted."""
    path = ("season", "tariff")
    values = entries_in_si(raw, Table("tariff", path), Writing(system), problems)
    periods, blocks = (
        [entries_in_si(one, row, Writing(system), problems) for one, row in _rows(raw, name, section, path)]
        for name, section in (("periods", "period"), ("blocks", "block"))
    )
    _check_generation(values, bool(blocks), problems)
    if problems.at(path):
        return None
    return TariffEntry(
        **values,
        periods=tuple(TariffPeriod(**row) for row in periods),
        blocks=tuple(TariffBlock(**row) for row in blocks),
    )


def _check_generation(values: Mapping[str, Any], blocks: bool, problems: Problems) -> None:
    """Refuse own generation without its price, a price without generation, or generation with blocks."""
    path = ("season", "tariff")
    given = [bool(values.get("generation")), values.get("export_price") is not None]
    if given == [True, False]:
        problems.add((*path, "export_price"), "is missing; a number per kWh is expected beside generation")
    if given == [False, True]:
        problems.add((*path, "generation"), "is missing; kWh of each month are expected beside export_price")
    if given[0] and blocks:
        problems.add((*path, "generation"), "is given beside blocks; one of the two is expected")


def _rows(
    raw: Mapping[str, Any], name: str, section: str, path: Path
) -> Iterator[tuple[Mapping[str, Any], Table]]:
    """Lines of a list of tables, and the place of each."""
    lines = raw.get(name)
    for index, line in enumerate(lines if isinstance(lines, list) else []):
        if isinstance(line, Mapping):
            yield line, Table(section, (*path, name, index))


def _bill(raw: Mapping[str, Any], system: System, problems: Problems) -> BillEntry | None:
    """Electricity of a stretch of time, or None with its faults noted."""
    path = ("season", "bill")
    values = entries_in_si(raw, Table("bill", path), Writing(system), problems)
    if problems.at(path):
        return None
    bill = BillEntry(**values)
    ends = (bill.first_day, bill.last_day)
    if bill.months and any(ends):
        problems.add((*path, "months"), "is given beside first_day or last_day; one of the two is expected")
    elif not bill.months and not all(ends):
        missing = "first_day" if bill.first_day is None else "last_day"
        problems.add((*path, missing), "is missing; first_day and last_day, or months, are expected")
    elif bill.days is not None and not 0 < bill.days <= LONGEST_BILL:
        words = f"is {bill.last_day}; a day within a year after first_day, {bill.first_day}, is expected"
        problems.add((*path, "last_day"), words)
    if bill.other_kwh is not None and bill.other_kwh >= bill.kwh:
        problems.add((*path, "other_kwh"), "less than kwh is expected: the rest is what the unit used")
    return None if problems.at(path) else bill


def cleaning_of(raw: Mapping[str, Any] | None, system: System, problems: Problems) -> CleaningEntry | None:
    """Table [cleaning].

    Parameters
    ----------
    raw : mapping or None
        Entries as typed.
    system : {"US", "SI"}
        System in which they were typed.
    problems : Problems
        Where faults are noted.

    Returns
    -------
    CleaningEntry or None
        None where there is no such table.
    """
    if raw is None:
        return None
    values = entries_in_si(raw, Table("cleaning", ("cleaning",)), Writing(system), problems)
    _check_range_of_rate(values, problems)
    return CleaningEntry(**values)


def _check_range_of_rate(values: Mapping[str, Any], problems: Problems) -> None:
    """Refuse a range of the growth rate without the rate, or beside it."""
    given = [name for name in RATE_AND_RANGE if name in values]
    if len(given) == len(RATE_AND_RANGE):
        if not values["growth_rate_low"] <= values["growth_rate"] <= values["growth_rate_high"]:
            words = "a rate from growth_rate_low to growth_rate_high is expected"
            problems.add(("cleaning", "growth_rate"), words)
    elif given not in ([], ["growth_rate"]) and not problems.at(("cleaning",)):
        words = f"is given without the others; {', '.join(RATE_AND_RANGE)} are expected together"
        problems.add(("cleaning", given[-1]), words)


def tracked_days(raw: Any, system: System, problems: Problems) -> tuple[TrackedDay, ...]:
    """Tables [[track]]; those at fault are noted and left out.

    Parameters
    ----------
    raw : Any
        List of entries as typed, or nothing.
    system : {"US", "SI"}
        System in which they were typed.
    problems : Problems
        Where faults are noted.

    Returns
    -------
    tuple of TrackedDay
        In order of time.
    """
    days: list[TrackedDay] = []
    for entry, table in _rows({"track": raw}, "track", "track", ()):
        if problems.at(table.path):
            continue
        values = entries_in_si(entry, table, Writing(system), problems)
        if problems.at(table.path):
            continue
        day = TrackedDay(**values)
        if not day.level_low <= day.level <= day.level_high:
            problems.add((*table.path, "level"), "a level from level_low to level_high is expected")
        if days and day.date < days[-1].date:
            problems.add(
                (*table.path, "date"), f"is {day.date}; a day not before {days[-1].date} is expected"
            )
        days.append(day)
    return tuple(days)


def season_document(season: Season, writing: Writing) -> dict[str, Any]:
    """Table [season] with its tariff and bill as they are typed; `season_of` is the way back.

    Parameters
    ----------
    season : Season
        In SI.
    writing : Writing
        System of the numbers.

    Returns
    -------
    dict
        Entries in the order in which they are written.
    """
    table = entries_as_typed(vars(season), "season", writing)
    if season.tariff is not None:
        table["tariff"] = entries_as_typed(vars(season.tariff), "tariff", writing)
        periods = [entries_as_typed(vars(period), "period", writing) for period in season.tariff.periods]
        if periods:
            table["tariff"]["periods"] = periods
        blocks = [entries_as_typed(vars(block), "block", writing) for block in season.tariff.blocks]
        if blocks:
            table["tariff"]["blocks"] = blocks
    if season.bill is not None:
        table["bill"] = entries_as_typed(vars(season.bill), "bill", writing)
    return table
