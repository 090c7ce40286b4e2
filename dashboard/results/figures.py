"""Results as figures to show: key, words, number in display units, unit and 90 % range.

The one way from a result in SI to a number that somebody reads. The pages, the tables of the command line,
the report and `--json` all take their numbers from here, so that they agree to the last digit shown.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from calibration.case.keys import find_key
from calibration.case.units import Quantity, System
from dashboard.texts.translate import tr
from model.properties.moist_air import STANDARD_PRESSURE

if TYPE_CHECKING:
    from calibration.estimate import Estimate

SIGNIFICANT_DIGITS = 9  # beyond these a number depends on the processor, not on the readings


class Struck(str):
    """A suspect number beside the supported one.

    As text it says so in words; where the medium can, `read` is struck through and `supported` stands beside
    it (`dashboard.results.html_text.cell`).
    """

    read: str
    supported: str

    def __new__(cls, read: str, supported: str) -> "Struck":
        """Both numbers as they are shown."""
        made = super().__new__(
            cls, tr("{read} suspect, {supported} supported", read=read, supported=supported)
        )
        made.read, made.supported = read, supported
        return made

    def __reduce__(self) -> tuple[type["Struck"], tuple[str, str]]:
        """For copies."""
        return Struck, (self.read, self.supported)


@dataclass(frozen=True)
class Figure:
    """One number, or one word, as it is shown.

    Parameters
    ----------
    key : str
        Its name in `--json`, as in the case file where there is such a key.
    label : str
        What it is, in words.
    value : float, str or None
        In the display unit; None where it could not be found.
    unit : str
        Display unit; empty for none.
    decimals : int
        Digits shown after the point.
    low, high : float or None
        Ends of its 90 % range, in the display unit.
    supported : Figure or None
        What the other readings support in its place, where it is a suspect reading or follows from one.
    """

    key: str
    label: str
    value: float | str | None
    unit: str = ""
    decimals: int = 2
    low: float | None = None
    high: float | None = None
    supported: "Figure | None" = None

    @property
    def text(self) -> str:
        """Number as shown, without its unit; a dash where there is none."""
        if isinstance(self.value, str):
            return self.value
        return shown(self.value, self.decimals)

    @property
    def interval_text(self) -> str:
        """90 % range as shown, without its unit; empty where there is none."""
        if self.low is None or self.high is None:
            return ""
        return range_words(self.low, self.high, self.decimals)

    @property
    def cell(self) -> str:
        """Number as a table shows it: a suspect one beside what the other readings support."""
        return self.text if self.supported is None else Struck(self.text, self.supported.text)

    @property
    def best(self) -> "Figure":
        """The figure to use: the supported one where it is suspect."""
        return self if self.supported is None else self.supported

    @property
    def heading(self) -> str:
        """Words with the unit in brackets."""
        return f"{self.label} [{self.unit}]" if self.unit else self.label


def shown(value: float | None, decimals: int = 0) -> str:
    """A number as shown, rounded, thousands apart; one that rounds to zero has no sign, none is a dash."""
    if value is None:
        return "-"
    text = f"{value:,.{decimals}f}"
    return text.removeprefix("-") if not text.strip("-0.,") else text


def range_words(low: float | None, high: float | None, decimals: int = 0) -> str:
    """A 90 % range as shown, without its unit; empty where there is none."""
    if low is None or high is None:
        return ""
    return tr("{low} to {high}", low=shown(low, decimals), high=shown(high, decimals))


def possible_ends(key: str, ends: tuple[float, float]) -> tuple[float, float]:
    """Ends of a 90 % range; those of an expected superheat or subcooling are at least 0 [SI].

    The ranges come from linear slopes, which would reach below saturation.
    """
    return (max(ends[0], 0.0), ends[1]) if key in ("superheat", "subcooling") else ends


def signed(value: float, decimals: int) -> str:
    """A difference as shown: with its sign, unless it rounds to zero.

    Parameters
    ----------
    value : float
        In the unit that is shown.
    decimals : int
        Digits after the point.

    Returns
    -------
    str
        Such as "+1.3", "-0.4" or "0.0".
    """
    text = f"{value:+,.{decimals}f}"
    return text if text.strip("+-0.,") else text[1:]


def percent(share: float, decimals: int = 0) -> str:
    """A share in percent, as shown.

    Parameters
    ----------
    share : float
        Share [-].
    decimals : int
        Digits after the point.

    Returns
    -------
    str
        Such as "85 %".
    """
    return f"{shown(100.0 * share, decimals)} %"


def probability(share: float) -> str:
    """A probability, as shown: none of them is quite 0 or 100 %.

    Parameters
    ----------
    share : float
        In [0, 1].

    Returns
    -------
    str
        Such as "85 %", "over 99 %" or "under 1 %".
    """
    return tr("over 99 %") if share > 0.995 else tr("under 1 %") if share < 0.005 else percent(share)


def with_interval(one: Figure) -> str:
    """A figure with its unit and 90 % range, for a sentence."""
    interval = f" ({one.interval_text})" if one.interval_text else ""
    return f"{one.text} {one.unit}{interval}" if one.unit else f"{one.text}{interval}"


def with_supported(read: Sequence[Figure], supported: Sequence[Figure]) -> list[Figure]:
    """Figures as read, those that the other readings do not support beside what they support.

    Parameters
    ----------
    read, supported : sequence of Figure
        The same figures by the readings as they are, and with the supported value of every suspect one.

    Returns
    -------
    list of Figure
        Those of `read`, in their order.
    """
    by_key = {one.key: one for one in supported}
    return [
        one if (other := by_key.get(one.key, one)).value == one.value else replace(one, supported=other)
        for one in read
    ]


def figure(
    key: str,
    value: float | None,
    system: System,
    *,
    interval: tuple[float, float] | None = None,
    ambient_pressure: float = STANDARD_PRESSURE,
) -> Figure:
    """Figure of a quantity that has a row in `calibration.case.keys`.

    Parameters
    ----------
    key : str
        Name of the row, which gives words, unit and digits.
    value : float or None
        Value [SI].
    system : {"US", "SI"}
        Units to show.
    interval : (float, float), optional
        Ends of the 90 % range [SI].
    ambient_pressure : float
        Local barometric pressure [Pa], for gauge pressures.

    Returns
    -------
    Figure
        In the units of `system`.

    Raises
    ------
    ValueError
        If the key has no row, or one without a unit.
    """
    row = find_key(key)
    if row is None or row.quantity is None:
        raise ValueError(f"key must name a quantity of calibration.case.keys, got {key!r}")
    return of_quantity(
        key, tr(row.words), value, row.quantity, system, interval=interval, ambient_pressure=ambient_pressure
    )


def of_quantity(
    key: str,
    label: str,
    value: float | None,
    quantity: Quantity,
    system: System,
    *,
    interval: tuple[float, float] | None = None,
    ambient_pressure: float = STANDARD_PRESSURE,
) -> Figure:
    """Figure of a value of any kind of quantity, with words of its own.

    Parameters
    ----------
    key, label : str
        Name in `--json`, and words.
    value : float or None
        Value [SI].
    quantity : Quantity
        Its kind, which gives unit and digits.
    system : {"US", "SI"}
        Units to show.
    interval : (float, float), optional
        Ends of the 90 % range [SI].
    ambient_pressure : float
        Local barometric pressure [Pa], for gauge pressures.

    Returns
    -------
    Figure
        In the units of `system`.
    """
    scale = quantity.scale(system)
    number, low, high = (
        None if one is None else _converted(one, quantity, system, ambient_pressure)
        for one in (value, *(interval or (None, None)))
    )
    return Figure(key, label, number, scale.label, scale.decimals, low, high)


def of_estimate(key: str, label: str, one: "Estimate", quantity: Quantity, system: System) -> Figure:
    """A median with its 90 % range.

    Parameters
    ----------
    key, label : str
        Name and words.
    one : Estimate
        In SI.
    quantity : Quantity
        What it measures.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    Figure
        In the units of `system`.
    """
    return of_quantity(key, label, one.value, quantity, system, interval=(one.low, one.high))


def _converted(value: float, quantity: Quantity, system: System, ambient_pressure: float) -> float:
    number = float(quantity.from_si(float(value), system, ambient_pressure))
    return float(f"{number:.{SIGNIFICANT_DIGITS}g}")


def of_estimates(
    estimates: Mapping[str, "Estimate"], system: System, ambient_pressure: float = STANDARD_PRESSURE
) -> list[Figure]:
    """Figures of estimates, each with its 90 % range.

    Parameters
    ----------
    estimates : mapping of str to Estimate
        By the names of their rows in `calibration.case.keys`; value and standard error in SI.
    system : {"US", "SI"}
        Units to show.
    ambient_pressure : float
        Local barometric pressure [Pa], for gauge pressures.

    Returns
    -------
    list of Figure
        In the order of the mapping.

    Raises
    ------
    ValueError
        If a name has no row, or one without a unit.
    """
    return [
        figure(name, one.value, system, interval=one.ends, ambient_pressure=ambient_pressure)
        for name, one in estimates.items()
    ]


def to_json(figures: Iterable[Figure]) -> dict[str, Any]:
    """Figures as a dictionary for `--json`.

    Parameters
    ----------
    figures : iterable of Figure
        In the order to keep.

    Returns
    -------
    dict
        Key to value, unit and, where there is one, interval `low` and `high`; of a suspect one what the
        other readings support, too.
    """
    return {one.key: _one_to_json(one) for one in figures}


def _one_to_json(one: Figure) -> dict[str, Any]:
    entry: dict[str, Any] = {"value": one.value}
    if one.unit:
        entry["unit"] = one.unit
    if one.low is not None and one.high is not None:
        entry |= {"low": one.low, "high": one.high}
    if one.supported is not None:
        entry["supported"] = _one_to_json(one.supported)
    return entry


def merged(columns: Sequence[Sequence[Figure]]) -> list[Figure]:
    """One figure for each key of all columns, for the rows of a table that shows them side by side.

    Parameters
    ----------
    columns : sequence of sequences of Figure
        Each in its own order.

    Returns
    -------
    list of Figure
        Each new key after the one that it follows in its column.
    """
    rows: list[Figure] = []
    for figures in columns:
        place = 0
        for one in figures:
            known = next((i for i, other in enumerate(rows) if other.key == one.key), None)
            if known is None:
                rows.insert(place, one)
            place = (place if known is None else known) + 1
    return rows
