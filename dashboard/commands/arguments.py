"""What was typed on the command line, checked and in SI; each refusal states what is expected."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from calibration.case.errors import did_you_mean
from calibration.case.file import holds_a_case
from calibration.case.keys import find_key
from calibration.case.records import Case, Visit
from calibration.case.units import TEMPERATURE, System
from model.cycle.faults import RANGES

WINTER = (-25.0, 70.0)
"""Outdoor temperatures at which a heat pump heats [degF]."""
MOST_SHARES = 50
"""Blocked shares that one command predicts: each is a column of its table."""


def visit_or_last(case: Case, label: str | None) -> Visit | None:
    """The visit with a label; without one the last as-found visit, else the last, else None.

    Parameters
    ----------
    case : Case
        Its visits.
    label : str or None
        As typed.

    Returns
    -------
    Visit or None
        None where the case has no visit and none was asked for.

    Raises
    ------
    ValueError
        If no visit has the label.
    """
    if label is None:
        candidates = case.found_visits or case.visits
        return candidates[-1] if candidates else None
    for visit in case.visits:
        if visit.label == label:
            return visit
    known = [visit.label for visit in case.visits]
    others = did_you_mean(label, known) if known else "it has none at all"
    raise ValueError(f"--visit: the case has no visit {label!r}; {others}")


def check_output(
    output: Path | None,
    inputs: Sequence[Path | None] = (),
    case: Case | None = None,
    option: str = "-o",
) -> None:
    """Refuse to write a result where something would be lost, before any work.

    Parameters
    ----------
    output : Path or None
        File that is to be written; None for none.
    inputs : sequence of Path or None
        Files that were typed to be read; None where an option was left out.
    case : Case or None
        The case that is read, for its own file and those that it names.
    option : str
        For which it was typed.

    Raises
    ------
    ValueError
        If the file is one that is read, under whatever name or link, or anybody's case.
    """
    if output is None or not output.is_file():  # what is no file, such as a terminal, loses nothing
        return
    for read in (*inputs, *(_files_of(case) if case else ())):
        if read is not None and read.exists() and output.samefile(read):
            raise ValueError(
                f"{option}: {output} is the same file as {read}, which is read; another file is expected"
            )
    if holds_a_case(output):
        raise ValueError(f"{option}: {output} is a case file and would be lost; another file is expected")


def _files_of(case: Case) -> list[Path]:
    """The file of a case, and those of weather and load beside it."""
    if case.source is None:
        return []
    named = (case.season.weather, case.season.load_file) if case.season else ()
    return [case.source, *(case.source.resolve().parent / name for name in named if name)]


def settings(numbers: Mapping[str, float | None], system: System) -> dict[str, float]:
    """Settings of a visit that were typed, in SI.

    Parameters
    ----------
    numbers : mapping of str to float or None
        By the keys of the case file; None where nothing was typed.
    system : {"US", "SI"}
        Units of the numbers.

    Returns
    -------
    dict of str to float
        Those that were typed [SI].

    Raises
    ------
    ValueError
        If a number is outside what its key allows.
    """
    return {
        name: _in_range(f"--{name.replace('_', '-')}", name, "visit", value, system)
        for name, value in numbers.items()
        if value is not None
    }


def check_return_air(conditions: Mapping[str, float], system: System) -> None:
    """Refuse return air whose wet bulb or dew point is above its dry bulb.

    Parameters
    ----------
    conditions : mapping of str to float
        Settings of a prediction by key [SI].
    system : {"US", "SI"}
        Units of the sentence.

    Raises
    ------
    ValueError
        If it is.
    """
    for name in ("return_wb", "return_dewpoint"):
        if name in conditions and conditions[name] > conditions["return_db"]:
            wet, dry = (TEMPERATURE.shown(conditions[key], system) for key in (name, "return_db"))
            unit = TEMPERATURE.label(system)
            raise ValueError(
                f"{name}: is {wet} {unit}; at most the dry bulb return_db, {dry} {unit}, is expected"
            )


def faults(words: Sequence[str], system: System) -> dict[str, float]:
    """Faults typed as NAME=NUMBER, in SI.

    Parameters
    ----------
    words : sequence of str
        Such as `charge_change=-0.1`.
    system : {"US", "SI"}
        Units of the numbers.

    Returns
    -------
    dict of str to float
        By the fields of `model.cycle.faults.Faults` [SI].

    Raises
    ------
    ValueError
        If a name is not known, or a number is none or out of its range.
    """
    found: dict[str, float] = {}
    for word in words:
        name, _, number = word.partition("=")
        if name not in RANGES:
            raise ValueError(f"--fault: {name!r} is not a fault; {did_you_mean(name, RANGES)}")
        try:
            value = float(number)
        except ValueError:
            raise ValueError(f"--fault: {word!r} has no number; {name}=NUMBER is expected") from None
        found[name] = _in_range("--fault", name, "fault", value, system)
    return found


def shares(option: str, words: Sequence[str]) -> list[float]:
    """Blocked shares of the face [-] from typed percentages.

    Parameters
    ----------
    option : str
        Which option they were typed for.
    words : sequence of str
        Each a number of 0 to 95, or several with commas between: `30`, `10,20,30`.

    Returns
    -------
    list of float
        Shares [-].

    Raises
    ------
    ValueError
        If one is no number or outside, or there are more than `MOST_SHARES`.
    """
    parts = [part.strip() for word in words for part in word.split(",")]
    if len(parts) > MOST_SHARES:
        raise ValueError(f"{option}: has {len(parts)} shares; at most {MOST_SHARES} are expected")
    return [_share(option, part) for part in parts]


def _share(option: str, word: str) -> float:
    low, high = RANGES["condenser_blocked"]
    expected = f"{100 * low:g} to {100 * high:g} % is expected"
    try:
        percent = float(word.removesuffix("%"))
    except ValueError:
        raise ValueError(f"{option}: {word!r} is no number; {expected}") from None
    if not low <= percent / 100.0 <= high:
        raise ValueError(f"{option}: is {percent:g} %; {expected}")
    return percent / 100.0


def must_date(words: str) -> tuple[tuple[str, str], date]:
    """Site, unit and day of what must be done.

    Parameters
    ----------
    words : str
        As typed for --must: SITE/UNIT=DATE, or UNIT=DATE where the unit has no site.

    Returns
    -------
    ((str, str), date)

    Raises
    ------
    ValueError
        If it has another form.
    """
    named, _, day = words.rpartition("=")
    site, _, unit = named.rpartition("/")
    try:
        found = date.fromisoformat(day)
    except ValueError:
        raise ValueError(
            f"--must: {words!r} is none; SITE/UNIT=DATE is expected, the day as 2026-05-14"
        ) from None
    return (site, unit), found


def altitude(number: float, system: System) -> float:
    """Altitude [m] from a typed number.

    Parameters
    ----------
    number : float
        As typed for --altitude.
    system : {"US", "SI"}
        Its units: ft or m.

    Returns
    -------
    float
        Altitude [m].

    Raises
    ------
    ValueError
        If it is out of range.
    """
    return _in_range("--altitude", "altitude", "unit", number, system)


def winter_outdoor(number: float, system: System) -> float:
    """Outdoor temperature at which a heat pump heats [K], from a typed number.

    Parameters
    ----------
    number : float
        As typed for --outdoor-db.
    system : {"US", "SI"}
        Its units: degF or degC.

    Returns
    -------
    float
        Temperature [K].

    Raises
    ------
    ValueError
        If it is no winter's: -25 to 70 degF is expected.
    """
    value = float(TEMPERATURE.to_si(number, system))
    low, high = (float(TEMPERATURE.to_si(end, "US")) for end in WINTER)
    if not low <= value <= high:
        ends = [float(TEMPERATURE.from_si(end, system)) for end in (low, high)]
        unit = TEMPERATURE.label(system)
        span = f"{ends[0]:.3g} to {ends[1]:.3g} {unit}"
        raise ValueError(f"--outdoor-db: is {number:g} {unit}; {span} is expected in heating")
    return value


def _in_range(option: str, name: str, section: str, number: float, system: System) -> float:
    key = find_key(name, section)
    quantity = key.quantity if key else None
    value = number if quantity is None else float(quantity.to_si(number, system))
    limits = RANGES.get(name) or (key.limits if key else None)
    if limits is not None and not limits[0] <= value <= limits[1]:
        ends = limits if quantity is None else tuple(float(quantity.from_si(end, system)) for end in limits)
        unit = f" {quantity.label(system)}".rstrip() if quantity else ""
        raise ValueError(
            f"{option}: {name} is {number:g}{unit}; {ends[0]:g} to {ends[1]:g}{unit} is expected"
        )
    return value
