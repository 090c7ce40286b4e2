"""The keys of a case file and of the tables made from it: what each means, its unit, range and an example.

One table for the reader of case files, the command line, the forms on the pages and the report, so that all
of them ask the same row for a label, a unit or a range. Limits are the possible
values of any air conditioner: a number outside is refused. Typical ranges are common practice, no source: a
number outside is only unusual.

The rows are written in US units, as in the trade, and converted to SI when the module is loaded.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from calibration.case import units
from calibration.case.result_rows import FAULT_ROWS, RESULT_ROWS
from calibration.case.season_rows import SEASON_ROWS, SERIES
from calibration.case.units import Quantity, System
from model.cycle.faults import RANGES

Form = Literal[
    "number",
    "whole",
    "text",
    "choice",
    "flag",
    "date",
    "time",
    "months",
    "weekdays",
    "hours",
    "numbers",
    "series",
]
Range = tuple[float, float]

EXPANSIONS = ("TXV", "fixed orifice")
COMPRESSORS = ("scroll", "reciprocating", "rotary")
FAN_KINDS = ("fixed speed", "constant airflow")
COIL_TYPES = ("tube and fin", "microchannel")
COILS = ("clean", "as found")
MODES = ("cooling", "heating")
REASONS = ("routine", "complaint", "after service")
DEFROSTS = ("timed", "demand")
UNKNOWN = ("unknown",)
CIRCUITS = ("1", "2", "3", "4")
FLAGS = ("true", "false")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
SECTIONS = (
    "visit",
    "fault",
    "result",
    "unit",
    "capacity_table",
    "season",
    "tariff",
    "period",
    "block",
    "bill",
    "cleaning",
    "instruments",
    "report",
    "track",
)


@dataclass(frozen=True)
class Key:
    """One key of a case file or one column of a table.

    Attributes
    ----------
    section : str
        Its section: one of `SECTIONS`; ``"fault"`` and ``"result"`` are columns of predictions.
    name : str
        The key as it is written.
    words : str
        What it is, for a label.
    form : str
        Sort of entry; ``"number"`` is a real number with a unit, ``"series"`` a list of them by month.
    quantity : Quantity or None
        Unit in both systems; None for entries without one.
    limits : (float, float) or None
        Lowest and highest possible value [SI].
    typical : (float, float) or None
        Range met in practice [SI].
    example : float, str or None
        A value to show in an empty field [SI where a number].
    choices : tuple of str
        Allowed words of a choice.
    required : bool
        True when the entry may not be left out.
    """

    section: str
    name: str
    words: str
    form: Form = "number"
    quantity: Quantity | None = None
    limits: Range | None = None
    typical: Range | None = None
    example: float | str | None = None
    choices: tuple[str, ...] = ()
    required: bool = False

    def label(self, system: System) -> str:
        """Words with the unit of one system in brackets, for a form, a column or an axis."""
        unit = self.quantity.label(system) if self.quantity else ""
        return f"{self.words} [{unit}]" if unit else self.words

    def example_in(self, system: System) -> str:
        """Example as it would be typed in one system; empty when there is none."""
        if isinstance(self.example, float) and self.quantity:
            return self.quantity.shown(self.example, system)
        return "" if self.example is None else str(self.example)


def keys_of(section: str) -> dict[str, Key]:
    """All keys of one section by name, in the order in which they are written.

    Parameters
    ----------
    section : str
        One of `SECTIONS`.

    Returns
    -------
    dict of str to Key
        Rows by name; empty for any other word.
    """
    return _TABLE.get(section, {})


def find_key(name: str, section: str | None = None) -> Key | None:
    """Row of one key; without a section the first that has the name: visit, fault, result, then the rest.

    Parameters
    ----------
    name : str
        The key.
    section : str, optional
        Section to look in; None for all, in the order visit, fault, result, then the rest.

    Returns
    -------
    Key, optional
        None where there is no such key.
    """
    sections = SECTIONS if section is None else (section,)
    return next((_TABLE[s][name] for s in sections if name in _TABLE.get(s, {})), None)


def words_of(name: str, section: str | None = None) -> str:
    """What a key is, in words for a label.

    Parameters
    ----------
    name : str
        The key.
    section : str, optional
        Section to look in; None for all, as in `find_key`.

    Returns
    -------
    str
        The name itself where there is no such key.
    """
    row = find_key(name, section)
    return row.words if row else name


_Number = tuple[str, str, Quantity, Range, Range, float]
"""Name, words, quantity, limits, typical range and example of a number, in US units."""

_REQUIRED = {
    ("unit", "name"),
    ("unit", "refrigerant"),
    ("unit", "expansion"),
    ("unit", "rated_capacity"),
    ("capacity_table", "outdoor_db"),
    ("capacity_table", "return_wb"),
    ("capacity_table", "capacity"),
    ("visit", "coil"),
    ("visit", "outdoor_db"),
    ("visit", "return_db"),
    ("tariff", "energy_price"),
    ("period", "price"),
    ("bill", "kwh"),
    ("block", "above"),
    ("block", "adds"),
    ("track", "date"),
    ("track", "level"),
    ("track", "level_low"),
    ("track", "level_high"),
}


def _numbers(section: str, rows: Iterable[_Number]) -> list[Key]:
    """Keys of numbers, moved from US units to SI."""
    keys = []
    for name, words, quantity, limits, typical, example in rows:
        low, high = (quantity.to_si(float(value), "US") for value in limits)
        usual = (quantity.to_si(float(typical[0]), "US"), quantity.to_si(float(typical[1]), "US"))
        required = (section, name) in _REQUIRED
        shown = quantity.to_si(float(example), "US")
        keys.append(Key(section, name, words, "number", quantity, (low, high), usual, shown, (), required))
    return keys


def _words(
    section: str, name: str, words: str, form: Form, example: str, choices: tuple[str, ...] = ()
) -> Key:
    """Key of an entry that is not a number."""
    required = (section, name) in _REQUIRED
    return Key(section, name, words, form, example=example, choices=choices, required=required)


def _unit_keys() -> list[Key]:
    """Rows of [unit]."""
    gauge, flow = units.GAUGE_PRESSURE, units.STANDARD_AIRFLOW
    rows: list[_Number] = [
        ("rated_capacity", "Rated capacity", units.CAPACITY, (3000, 2e6), (18e3, 240e3), 36e3),
        ("rated_eer", "Rated EER", units.EFFICIENCY, (3, 34), (7, 18), 12),
        ("altitude", "Altitude", units.LENGTH, (-1400, 16500), (0, 10000), 800),
        ("high_pressure_limit", "High-pressure cut-out", gauge, (50, 1500), (200, 650), 610),
        ("low_pressure_limit", "Low-pressure cut-out", gauge, (-14, 200), (5, 70), 50),
        (
            "rated_sensible_heat_ratio",
            "Rated sensible heat ratio",
            units.FRACTION,
            (0.3, 1),
            (0.6, 0.9),
            0.75,
        ),
        ("rated_indoor_airflow", "Rated indoor airflow", flow, (30, 40e3), (600, 8000), 1200),
        ("outdoor_fan_power", "Outdoor fan power", units.POWER, (0, 2e4), (60, 2000), 180),
        ("indoor_blower_power", "Blower power", units.POWER, (0, 5e4), (100, 6000), 400),
        ("charge", "Refrigerant charge", units.MASS, (0.1, 500), (2, 60), 7.5),
    ]
    return [
        _words("unit", "name", "Name of the unit", "text", "North wing, upper floor"),
        _words("unit", "site", "Site", "text", "Library"),
        _words("unit", "exposure", "Surroundings of the condenser", "text", "beside a road"),
        _words("unit", "refrigerant", "Refrigerant", "text", "R410A"),
        _words("unit", "expansion", "Expansion device", "choice", "TXV", EXPANSIONS),
        _words("unit", "compressor", "Compressor", "choice", "scroll", COMPRESSORS),
        _words("unit", "indoor_blower", "Indoor blower", "choice", "fixed speed", FAN_KINDS),
        _words("unit", "outdoor_fan", "Outdoor fan", "choice", "fixed speed", FAN_KINDS),
        _words("unit", "coil_type", "Type of condenser coil", "choice", "tube and fin", COIL_TYPES),
        *_numbers("unit", rows),
        *_speed_keys(),
        *_heating_keys(),
    ]


def _capacity_table_keys() -> list[Key]:
    """Rows of [[unit.capacity_table]]: one line each of a maker's table."""
    degree, flow = units.TEMPERATURE, units.STANDARD_AIRFLOW
    rows: list[_Number] = [
        ("outdoor_db", "Outdoor air, dry bulb", degree, (40, 130), (65, 125), 95),
        ("return_db", "Return air, dry bulb", degree, (60, 100), (70, 85), 80),
        ("return_wb", "Return air, wet bulb", degree, (45, 90), (55, 77), 67),
        ("indoor_airflow_standard", "Indoor airflow of standard air", flow, (30, 40e3), (400, 8000), 1200),
        ("capacity", "Capacity, net of the blower", units.CAPACITY, (1500, 3e6), (12e3, 300e3), 36e3),
        ("outdoor_power", "Outdoor unit power", units.POWER, (20, 3e5), (500, 3e4), 2900),
    ]
    return _numbers("capacity_table", rows)


def _speed_keys() -> list[Key]:
    """Rows of [unit] about its speeds, and whether it also heats."""
    return [
        _words("unit", "stages", "Stages of the compressor, shares of full speed", "numbers", "0.67, 1.0"),
        _words(
            "unit",
            "speed_range",
            "Variable speed: lowest and highest, shares of full speed",
            "numbers",
            "0.35, 1.0",
        ),
        _words(
            "unit",
            "outdoor_fan_speeds",
            "Outdoor fan at each of these, shares of full speed",
            "numbers",
            "0.8, 1.0",
        ),
        _words(
            "unit", "blower_speeds", "Blower at each of these, shares of full speed", "numbers", "0.7, 1.0"
        ),
        _words("unit", "circuits", "Refrigerant circuits", "whole", "2", CIRCUITS),
        _words("unit", "heat_pump", "Heat pump that also heats", "flag", "true", FLAGS),
    ]


def _heating_keys() -> list[Key]:
    """Rows of [unit] about a heat pump's winter."""
    capacity, cop = units.CAPACITY, units.COEFFICIENT
    rows: list[_Number] = [
        (
            "rated_heating_capacity",
            "Rated heating capacity at 47 degF",
            capacity,
            (3000, 2e6),
            (18e3, 240e3),
            35e3,
        ),
        ("rated_heating_cop", "Rated heating COP at 47 degF", cop, (1.2, 8), (2.8, 4.6), 3.6),
        ("low_heating_capacity", "Heating capacity at 17 degF", capacity, (1000, 2e6), (9e3, 200e3), 21e3),
        ("low_heating_cop", "Heating COP at 17 degF", cop, (0.8, 6), (1.8, 3.2), 2.4),
    ]
    return [
        *_numbers("unit", rows),
        _words("unit", "heating_expansion", "Expansion device in heating", "choice", "TXV", EXPANSIONS),
        _words("unit", "accumulator", "Suction accumulator", "flag", "true", FLAGS),
        _words("unit", "defrost", "Defrost", "choice", "timed", DEFROSTS),
    ]


def _air_rows() -> list[_Number]:
    """Rows of [[visit]] that a psychrometer, an airflow meter and a barometer fill."""
    degree, percent, wide = units.TEMPERATURE, units.PERCENT, (30.0, 40e3)
    return [
        ("outdoor_db", "Outdoor air, dry bulb", degree, (-40, 150), (55, 125), 95),
        ("outdoor_wb", "Outdoor air, wet bulb, in heating", degree, (-40, 80), (0, 60), 43),
        ("outdoor_rh", "Outdoor air, relative humidity, in heating", percent, (5, 100), (40, 95), 75),
        ("return_db", "Return air, dry bulb", degree, (20, 140), (60, 95), 80),
        ("return_wb", "Return air, wet bulb", degree, (5, 130), (45, 80), 67),
        ("return_rh", "Return air, relative humidity", percent, (1, 100), (15, 80), 51),
        ("return_dewpoint", "Return air, dew point", degree, (-60, 130), (25, 75), 60),
        ("supply_db", "Supply air, dry bulb", degree, (-10, 140), (40, 75), 59),
        ("supply_wb", "Supply air, wet bulb", degree, (-10, 130), (35, 72), 57),
        ("supply_rh", "Supply air, relative humidity", percent, (1, 100), (60, 98), 88),
        ("supply_dewpoint", "Supply air, dew point", degree, (-60, 130), (20, 70), 56),
        ("indoor_airflow", "Indoor airflow at the meter", units.AIRFLOW, wide, (400, 8000), 1200),
        (
            "indoor_airflow_standard",
            "Indoor airflow of standard air",
            units.STANDARD_AIRFLOW,
            wide,
            (400, 8000),
            1150,
        ),
        ("condenser_leaving_db", "Air leaving the condenser", degree, (-40, 220), (65, 160), 112),
        ("barometer", "Barometric pressure", units.BAROMETRIC_PRESSURE, (16, 32.5), (20, 31), 29.3),
    ]


def _refrigerant_rows() -> list[_Number]:
    """Rows of [[visit]] that gauges and pipe thermometers fill."""
    degree, gauge, high = units.TEMPERATURE, units.GAUGE_PRESSURE, (-14.0, 1500.0)
    return [
        ("suction_pressure", "Suction pressure", gauge, (-14, 600), (10, 190), 132),
        ("liquid_pressure", "Liquid-line pressure", gauge, high, (80, 600), 370),
        ("discharge_pressure", "Discharge pressure", gauge, high, (80, 620), 376),
        ("liquid_valve_pressure", "Liquid pressure before the valve", gauge, high, (80, 600), 355),
        ("suction_temperature", "Suction pipe", degree, (-60, 150), (35, 95), 60),
        ("liquid_temperature", "Liquid pipe", degree, (-40, 200), (55, 140), 100),
        ("discharge_temperature", "Discharge pipe", degree, (-40, 450), (110, 260), 165),
        ("standing_pressure", "Pressure with the unit off", gauge, high, (30, 400), 225),
        ("standing_temperature", "Air around the idle unit", degree, (-40, 150), (50, 115), 78),
    ]


def _power_rows() -> list[_Number]:
    """Rows of [[visit]] that a wattmeter fills."""
    return [
        ("outdoor_power", "Outdoor unit power", units.POWER, (20, 3e5), (500, 3e4), 2900),
        ("indoor_power", "Blower power", units.POWER, (0, 5e4), (80, 6000), 420),
        ("outdoor_fan_power", "Outdoor fan power", units.POWER, (0, 2e4), (60, 2000), 180),
        ("compressor_power", "Compressor power", units.POWER, (20, 3e5), (400, 3e4), 2700),
    ]


def _clamp_keys(side: str, words: str, amps: float) -> list[Key]:
    """Rows of [[visit]] that a clamp meter fills for one of the two machines."""
    rows: list[_Number] = [
        (f"{side}_volts", f"{words}, voltage", units.VOLTAGE, (80, 700), (110, 600), 238),
        (f"{side}_amps", f"{words}, current", units.CURRENT, (0.02, 1000), (0.3, 100), amps),
        (f"{side}_power_factor", f"{words}, power factor", units.FRACTION, (0.1, 1), (0.5, 1), 0.94),
    ]
    phases = _words("visit", f"{side}_phases", f"{words}, phases", "whole", "1", ("1", "3"))
    return [*_numbers("visit", rows), phases]


def _visit_keys() -> list[Key]:
    """Rows of [[visit]] in the order in which they are written."""
    share = units.FRACTION
    rows: list[_Number] = [
        ("compressor_speed", "Compressor speed, share of full", share, (0.05, 2), (0.2, 1), 1.0),
        ("outdoor_fan_speed", "Outdoor fan speed, share of full", share, (0.05, 2), (0.2, 1), 1.0),
        ("settled_minutes", "Minutes at steady state before reading", units.MINUTES, (0, 1e5), (10, 60), 15),
    ]
    return [
        _words("visit", "date", "Date", "date", "2026-05-14"),
        _words("visit", "time", "Time of day", "time", "14:30"),
        _words("visit", "label", "Label", "text", "before cleaning"),
        _words("visit", "circuit", "Circuit, of a unit with several", "whole", "1", CIRCUITS),
        _words("visit", "coil", "Condenser coil", "choice", "clean", COILS),
        _words("visit", "mode", "While the unit", "choice", "cooling", MODES),
        _words("visit", "called_for", "Reason for the visit", "choice", "routine", REASONS),
        _words("visit", "return_humidity", "Return air, humidity not read", "choice", "unknown", UNKNOWN),
        *_numbers("visit", [*_air_rows(), *_refrigerant_rows(), *_power_rows()]),
        *_clamp_keys("outdoor", "Outdoor unit", 13.0),
        *_clamp_keys("indoor", "Blower", 2.2),
        *_numbers("visit", rows),
        _words("visit", "notes", "Notes", "text", "Probe taped and insulated at the service valve"),
    ]


def _instrument_keys() -> list[Key]:
    """Rows of [instruments]: accuracy of each meter, one standard deviation unless stated otherwise."""
    psi, degree, share = units.PRESSURE_DIFFERENCE, units.TEMPERATURE_DIFFERENCE, units.FRACTION
    rows: list[_Number] = [
        ("suction_gauge", "Suction gauge", psi, (0, 50), (0.2, 5), 2),
        ("liquid_gauge", "Liquid-line gauge", psi, (0, 100), (0.5, 10), 4),
        ("discharge_gauge", "Discharge gauge", psi, (0, 100), (0.5, 10), 4),
        ("pipe_thermometer", "Pipe thermometer", degree, (0, 20), (0.1, 3), 0.8),
        ("air_thermometer", "Air thermometer", degree, (0, 20), (0.1, 3), 0.8),
        ("wet_bulb", "Wet-bulb thermometer", degree, (0, 20), (0.1, 3), 0.8),
        ("dew_point", "Dew-point meter", degree, (0, 20), (0.1, 3), 1),
        ("relative_humidity", "Relative-humidity meter", units.PERCENT, (0, 30), (0.5, 5), 2),
        ("airflow", "Airflow meter, share of reading", share, (0, 0.5), (0.01, 0.1), 0.04),
        ("wattmeter", "Wattmeter, share of reading", share, (0, 0.5), (0.003, 0.05), 0.012),
        ("voltmeter", "Voltmeter, share of reading", share, (0, 0.5), (0.003, 0.03), 0.006),
        ("ammeter", "Ammeter, share of reading", share, (0, 0.5), (0.005, 0.05), 0.012),
        ("power_factor", "Power-factor meter", share, (0, 0.5), (0.005, 0.05), 0.012),
    ]
    ways = ("standard", "limits")
    stated = _words("instruments", "stated_as", "How accuracies are stated", "choice", "standard", ways)
    return [stated, *_numbers("instruments", rows)]


def _report_keys() -> list[Key]:
    """Rows of [report]: who and what the printed report names, beside the unit itself."""
    return [
        _words("report", "customer", "Customer", "text", "The reading room's office"),
        _words("report", "address", "Address", "text", "1 Millbrook Street"),
        _words("report", "nameplate", "Model and serial number, from the nameplate", "text", "AB-36 0123456"),
        _words("report", "company", "Company", "text", "Our company"),
        _words("report", "licence_number", "Licence number", "text", "12345"),
        _words("report", "technician", "Technician", "text", "A. N. Example"),
        _words("report", "coil_photo", "Photo of the coil, a file beside the case", "text", "coil.jpg"),
        _words("report", "nameplate_photo", "Photo of the nameplate, likewise", "text", "nameplate.jpg"),
    ]


def _season_keys() -> list[Key]:
    """Rows of [season], its tariff and its bill, of [cleaning] and of [[track]]."""
    keys: list[Key] = []
    for row in SEASON_ROWS:
        if len(row) == 7:
            (number,) = _numbers(row[0], [row[1:]])
            keys.append(replace(number, form="series") if row[1] in SERIES else number)
        else:
            keys.append(_words(*row))
    return keys


def _fault_keys() -> list[Key]:
    """Columns that say what is wrong, in predictions: fields of `model.cycle.faults.Faults`; 0 is healthy."""
    keys = []
    for name, words, quantity, typical, example in FAULT_ROWS:
        low, high = (quantity.to_si(float(value), "US") for value in typical)
        shown = quantity.to_si(float(example), "US")
        keys.append(Key("fault", name, words, "number", quantity, RANGES[name], (low, high), shown))
    return keys


def _result_keys() -> list[Key]:
    """Columns that come out: measured or predicted figures."""
    rows = [Key("result", name, words, "number", quantity) for name, words, quantity in RESULT_ROWS]
    return [*rows, Key("result", "state", "State", "text")]


_TABLE: dict[str, dict[str, Key]] = {section: {} for section in SECTIONS}
for _row in (
    *_visit_keys(),
    *_fault_keys(),
    *_result_keys(),
    *_unit_keys(),
    *_capacity_table_keys(),
    *_season_keys(),
    *_instrument_keys(),
    *_report_keys(),
):
    _TABLE[_row.section][_row.name] = _row
