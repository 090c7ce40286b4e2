"""A case in SI: one air conditioner, its visits, its meters, its season and its cleaning.

Plain frozen dataclasses without files, units or checks: `calibration.case.file` reads and writes them. The
attributes carry the names of the case file's keys; None says that a reading was not taken or an entry not
made. Pressures are absolute, temperatures in K, airflows in m3/s, humidities and shares as fractions.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, fields
from math import sqrt
from pathlib import Path
from typing import Literal

from calibration.case.meters import Instruments
from calibration.case.units import System
from model.components.unit import CoilType, CompressorKind, FanKind
from model.properties.moist_air import STANDARD_PRESSURE, standard_pressure

Expansion = Literal["TXV", "fixed orifice"]
Mode = Literal["cooling", "heating"]
Coil = Literal["clean", "as found"]
Reason = Literal["routine", "complaint", "after service"]
BlowerSetting = Literal["automatic", "continuous"]
Defrost = Literal["timed", "demand"]
GrowthForm = Literal["linear", "asymptotic", "bursts"]


@dataclass(frozen=True)
class PrintedMap:
    """A maker's ten-coefficient map (AHRI 540) as printed: `units.celsius_coefficients` turns it to SI.

    Attributes
    ----------
    form : {"US", "SI"}
        ``"US"``: degF and lb/h; ``"SI"``: degC and kg/h. Power is in W in both.
    mass_flow, power : tuple of 10 floats
        Coefficients in the standard's order, in the units of `form`.
    superheat : float or None
        Suction superheat at which the map was rated [K].
    return_gas_temperature : float or None
        Suction gas temperature at which it was rated instead [K].
    suction_range, discharge_range : (float, float) or None
        Lowest and highest saturated temperature of its envelope [K].
    """

    form: System
    mass_flow: tuple[float, ...]
    power: tuple[float, ...]
    superheat: float | None = None
    return_gas_temperature: float | None = None
    suction_range: tuple[float, float] | None = None
    discharge_range: tuple[float, float] | None = None


@dataclass(frozen=True)
class CapacityRow:
    """One line of a maker's capacity table.

    Attributes
    ----------
    outdoor_db, return_wb : float
        Outdoor air and wet bulb of the return air [K].
    capacity : float
        Net of the blower [W].
    outdoor_power : float or None
        Compressor and outdoor fan [W].
    return_db : float or None
        Dry bulb of the return air [K]; None for that of the rating.
    indoor_airflow_standard : float or None
        Airflow of standard air [m3/s]; None for the rated one.
    """

    outdoor_db: float
    return_wb: float
    capacity: float
    outdoor_power: float | None = None
    return_db: float | None = None
    indoor_airflow_standard: float | None = None


@dataclass(frozen=True)
class UnitDescription:
    """What the nameplate and a look at the machine say about one air conditioner.

    Attributes
    ----------
    name, refrigerant : str
        Name of the unit; refrigerant as in `model.properties.refrigerant.KNOWN_REFRIGERANTS`.
    expansion, compressor, indoor_blower, outdoor_fan, coil_type : str
        Kind of each part; the coil's is the condenser's.
    rated_capacity : float
        Net cooling capacity at the rating conditions [W].
    rated_eer : float or None
        Rated efficiency, blower included [W/W].
    altitude : float
        Height over the sea [m].
    high_pressure_limit, low_pressure_limit : float or None
        Cut-outs [Pa absolute].
    rated_sensible_heat_ratio : float or None
        Sensible over total capacity at the rating conditions [-].
    rated_indoor_airflow : float or None
        Rated airflow of standard air [m3/s].
    outdoor_fan_power, indoor_blower_power : float or None
        Rated powers of the fans [W].
    charge : float or None
        Refrigerant charge on the nameplate [kg].
    stages : tuple of float
        Compressor speeds of a unit with stages as fractions of full speed, rising; empty without stages.
    speed_range : tuple of float
        Lowest and highest compressor speed of a variable-speed unit as fractions of full speed; else empty.
    outdoor_fan_speeds, blower_speeds : tuple of float
        Speeds of the fans at each stage, or at each end of the range, as fractions of full speed; empty where
        the fan always runs at full speed.
    circuits : int or None
        Refrigerant circuits with a compressor each; None for one.
    heat_pump : bool
        Whether it also heats.
    rated_heating_capacity, rated_heating_cop : float or None
        At outdoor 47 degF, the blower's heat included [W], [W/W]; without a capacity winter is left out.
    low_heating_capacity, low_heating_cop : float or None
        The same at 17 degF.
    heating_expansion : str or None
        Kind of the expansion device that heating uses; None for a thermostatic valve.
    accumulator : bool
        Whether a suction accumulator takes up what refrigerant is not needed in heating.
    defrost : {"timed", "demand"} or None
        Whether defrosts come by the clock, as where nothing is said, or when frost is sensed.
    compressor_map : PrintedMap or None
        The maker's map.
    capacity_table : tuple of CapacityRow
        Lines of the maker's capacity table.
    site, exposure : str
        Where it stands, and what its condenser is exposed to; empty where nobody said.
    """

    name: str
    refrigerant: str
    expansion: Expansion
    rated_capacity: float
    compressor: CompressorKind = "scroll"
    indoor_blower: FanKind = "fixed speed"
    outdoor_fan: FanKind = "fixed speed"
    coil_type: CoilType = "tube and fin"
    rated_eer: float | None = None
    altitude: float = 0.0
    high_pressure_limit: float | None = None
    low_pressure_limit: float | None = None
    rated_sensible_heat_ratio: float | None = None
    rated_indoor_airflow: float | None = None
    outdoor_fan_power: float | None = None
    indoor_blower_power: float | None = None
    charge: float | None = None
    stages: tuple[float, ...] = ()
    speed_range: tuple[float, ...] = ()
    outdoor_fan_speeds: tuple[float, ...] = ()
    blower_speeds: tuple[float, ...] = ()
    circuits: int | None = None
    heat_pump: bool = False
    rated_heating_capacity: float | None = None
    rated_heating_cop: float | None = None
    low_heating_capacity: float | None = None
    low_heating_cop: float | None = None
    heating_expansion: Expansion | None = None
    accumulator: bool = False
    defrost: Defrost | None = None
    compressor_map: PrintedMap | None = None
    capacity_table: tuple[CapacityRow, ...] = ()
    site: str = ""
    exposure: str = ""

    @property
    def ambient_pressure(self) -> float:
        """Barometric pressure of the standard atmosphere at the unit's altitude [Pa]."""
        return ambient_pressure_at(self.altitude)


def ambient_pressure_at(altitude: float) -> float:
    """Barometric pressure at an altitude where no barometer was read.

    Parameters
    ----------
    altitude : float
        Height over the sea [m].

    Returns
    -------
    float
        Pressure of the standard atmosphere [Pa].
    """
    return float(standard_pressure(altitude)) if altitude else STANDARD_PRESSURE


@dataclass(frozen=True)
class Visit:
    """One set of readings on one date.

    Attributes
    ----------
    label, coil : str
        Name of the visit; state of the condenser coil, ``"clean"`` or ``"as found"``.
    date, time : date and time or None
        When it was.
    circuit : int or None
        Which circuit of a unit with several it was made to, from 1.
    mode : {"cooling", "heating"} or None
        What the unit did while the readings were taken; None for cooling.
    called_for : str or None
        Why it was made: ``"routine"``, ``"complaint"`` or ``"after service"``; None where nobody said.
    return_humidity : str or None
        ``"unknown"`` where the return air's humidity was not read and is left to the inference; else None.
    ambient_pressure : float
        Local barometric pressure [Pa]: the barometer's, else the standard atmosphere's at the unit's
        altitude. It made the gauge pressures absolute and is not itself an entry of the file.
    outdoor_db ... standing_temperature : float or None
        Temperatures [K], relative humidities [fraction], airflows [m3/s], pressures [Pa absolute].
    outdoor_power, indoor_power : float or None
        Compressor and outdoor fan; blower [W]. Where they were not read but volts, amperes, power factor
        and phases were, they are worked out when the visit is made.
    compressor_speed, outdoor_fan_speed : float
        Fractions of full speed [-].
    settled_minutes : float or None
        How long the unit had run unchanged [min].
    notes : str
        Whatever else should be remembered.
    """

    label: str
    coil: Coil
    outdoor_db: float
    return_db: float
    date: dt.date | None = None
    time: dt.time | None = None
    circuit: int | None = None
    mode: Mode | None = None
    called_for: Reason | None = None
    return_humidity: Literal["unknown"] | None = None
    ambient_pressure: float = STANDARD_PRESSURE
    barometer: float | None = None
    outdoor_wb: float | None = None
    outdoor_rh: float | None = None
    return_wb: float | None = None
    return_rh: float | None = None
    return_dewpoint: float | None = None
    supply_db: float | None = None
    supply_wb: float | None = None
    supply_rh: float | None = None
    supply_dewpoint: float | None = None
    indoor_airflow: float | None = None
    indoor_airflow_standard: float | None = None
    condenser_leaving_db: float | None = None
    suction_pressure: float | None = None
    liquid_pressure: float | None = None
    discharge_pressure: float | None = None
    liquid_valve_pressure: float | None = None
    suction_temperature: float | None = None
    liquid_temperature: float | None = None
    discharge_temperature: float | None = None
    standing_pressure: float | None = None
    standing_temperature: float | None = None
    outdoor_power: float | None = None
    indoor_power: float | None = None
    outdoor_fan_power: float | None = None
    compressor_power: float | None = None
    outdoor_volts: float | None = None
    outdoor_amps: float | None = None
    outdoor_power_factor: float | None = None
    outdoor_phases: int | None = None
    indoor_volts: float | None = None
    indoor_amps: float | None = None
    indoor_power_factor: float | None = None
    indoor_phases: int | None = None
    compressor_speed: float = 1.0
    outdoor_fan_speed: float = 1.0
    settled_minutes: float | None = None
    notes: str = ""

    def __post_init__(self) -> None:
        for side in ("outdoor", "indoor"):
            power = electrical_power(self, side)
            if power is not None and getattr(self, f"{side}_power") is None:
                object.__setattr__(self, f"{side}_power", power)

    def readings(self) -> dict[str, float]:
        """Every number that was read, by key [SI]; settings such as speeds and phases left out."""
        values = {entry.name: getattr(self, entry.name) for entry in fields(self)}
        return {
            name: float(value)
            for name, value in values.items()
            if isinstance(value, int | float) and name not in _SETTINGS
        }


_SETTINGS = frozenset(
    {
        "ambient_pressure",
        "circuit",
        "compressor_speed",
        "outdoor_fan_speed",
        "outdoor_phases",
        "indoor_phases",
        "settled_minutes",
    }
)


def electrical_power(visit: Visit, side: str) -> float | None:
    """Watts from volts, amperes and power factor of the ``"outdoor"`` or ``"indoor"`` machine.

    Parameters
    ----------
    visit : Visit
        Readings.
    side : str
        Which machine.

    Returns
    -------
    float or None
        Real power, volts times amperes times power factor, times sqrt(3) for three phases read between
        lines [W]; None when one of the three readings is missing. No phases given means one.
    """
    parts = [getattr(visit, f"{side}_{part}") for part in ("volts", "amps", "power_factor")]
    if any(part is None for part in parts):
        return None
    volts, amps, power_factor = parts
    factor = sqrt(3.0) if getattr(visit, f"{side}_phases") == 3 else 1.0
    return float(volts * amps * power_factor * factor)


@dataclass(frozen=True)
class TariffPeriod:
    """Hours of the year with an energy price of their own.

    Attributes
    ----------
    price : float
        Energy price in these hours [money/kWh].
    months : tuple of int
        1 to 12; empty for all.
    weekdays : tuple of int
        0 Monday to 6 Sunday; empty for all.
    hours : (int, int) or None
        From and to hour of the day, [from, to); over midnight where the first is the greater; None for all.
    """

    price: float
    months: tuple[int, ...] = ()
    weekdays: tuple[int, ...] = ()
    hours: tuple[int, int] | None = None

    @property
    def hours_of_day(self) -> tuple[int, ...]:
        """Hours that begin in the period, 0 to 23."""
        if self.hours is None or self.hours[0] == self.hours[1]:
            return tuple(range(24))
        first, last = self.hours
        return tuple(range(first, last)) if first < last else (*range(last), *range(first, 24))


@dataclass(frozen=True)
class TariffBlock:
    """What is added to the energy price [money/kWh] of a month's electricity above so much [J]."""

    above: float
    adds: float


USUAL_CURRENCY = "USD"
"""Currency of a case that names none."""


@dataclass(frozen=True)
class TariffEntry:
    """What electricity costs: prices in the case's money, demand a kW and month, carbon in kg/kWh.

    `comfort_price` is what a kilowatt-hour of unmet cooling counts as, `blocks` the steps of the price with
    the month's electricity, `other_use` what everything else on the meter uses in each month [J],
    `carbon_file` a file of hourly carbon intensity, relative to the case's folder. `demand_minutes` is the
    interval of the demand meter [min], an hour where nothing is said; `generation` what the household
    generates itself in each month [J], `export_price` what a kilowatt-hour of it earns that is given to the
    grid.
    """

    energy_price: float
    periods: tuple[TariffPeriod, ...] = ()
    demand_charge: float = 0.0
    escalation: float = 0.0
    carbon_intensity: float | None = None
    currency: str = USUAL_CURRENCY
    comfort_price: float | None = None
    blocks: tuple[TariffBlock, ...] = ()
    other_use: tuple[float, ...] = ()
    carbon_file: str | None = None
    demand_minutes: float | None = None
    generation: tuple[float, ...] = ()
    export_price: float | None = None


@dataclass(frozen=True)
class BillEntry:
    """Electricity that a meter counted over some time, from which the load follows.

    Attributes
    ----------
    kwh : float
        Counted electricity [J].
    other_kwh : float or None
        What everything else on the same meter used of it [J]; None where the unit has the meter to itself.
    months : tuple of int
        Calendar months that it is for, 1 to 12; empty where days are given.
    first_day, last_day : date or None
        First and last day that it is for; None where months are given.
    mean_outdoor : float or None
        Mean outdoor temperature of that time [K]; None for about that of the typical year.
    """

    kwh: float
    other_kwh: float | None = None
    months: tuple[int, ...] = ()
    first_day: dt.date | None = None
    last_day: dt.date | None = None
    mean_outdoor: float | None = None

    @property
    def days(self) -> int | None:
        """Days from the first to the last, both counted [d]; None where months are given."""
        if self.first_day is None or self.last_day is None:
            return None
        return (self.last_day - self.first_day).days + 1


@dataclass(frozen=True)
class Season:
    """Weather, load and tariff of a cooling season.

    Attributes
    ----------
    weather : str
        A typical year's name, the file of an hourly year, relative to the case's folder, ``"bins"``, or
        ``"monthly means"``.
    monthly_means, daily_ranges : tuple of 12 float
        Mean outdoor temperature [K] and mean daily range [K] of each month; empty but for monthly means.
    exceeded_1_percent, exceeded_99_percent : float or None
        Outdoor temperatures exceeded in so many hours of the year [K]; for monthly means.
    cooling_hours : float or None
        Cooling hours of a year that the bins are spread over [h].
    design_load, design_outdoor : float or None
        Cooling load [W] at an outdoor temperature [K].
    balance_temperature : float or None
        Outdoor temperature without a load [K].
    load_file : str or None
        File of hourly loads, relative to the case's folder.
    cycling_loss : float or None
        Degradation coefficient Cd [-].
    economiser_below : float or None
        Outdoor temperature below which an economiser cools instead of the compressor [K].
    heating_design_load, heating_design_outdoor : float or None
        Heating load [W] at an outdoor temperature [K], of a heat pump.
    heating_balance_temperature, heating_setpoint : float or None
        Outdoor temperature without heating, and the room's while it is heated [K].
    backup_price, backup_carbon : float or None
        Of a kilowatt-hour of backup heat [money], [kg]; None for electric resistance.
    backup_below, heat_pump_above : float or None
        Outdoor temperature from which on backup heat, and below which the heat pump, is locked out [K].
    blower : str or None
        ``"automatic"``, as where nothing is said: with the compressor; ``"continuous"``: it always runs.
    latent_share : float or None
        Latent part of a load that gives none of its own [-].
    idle_power : float or None
        Power while the unit is off [W].
    answers_to : {"total", "sensible"} or None
        The part of the load that decides how long the unit runs; None for the whole.
    indoor_setpoint, indoor_rh : float or None
        Indoor air [K], relative humidity [fraction].
    tariff : TariffEntry or None
        What electricity costs.
    bill : BillEntry or None
        Electricity of some time, from which the load follows.
    """

    weather: str = "bins"
    monthly_means: tuple[float, ...] = ()
    daily_ranges: tuple[float, ...] = ()
    exceeded_1_percent: float | None = None
    exceeded_99_percent: float | None = None
    cooling_hours: float | None = None
    design_load: float | None = None
    design_outdoor: float | None = None
    balance_temperature: float | None = None
    load_file: str | None = None
    cycling_loss: float | None = None
    economiser_below: float | None = None
    heating_design_load: float | None = None
    heating_design_outdoor: float | None = None
    heating_balance_temperature: float | None = None
    heating_setpoint: float | None = None
    backup_price: float | None = None
    backup_carbon: float | None = None
    backup_below: float | None = None
    heat_pump_above: float | None = None
    blower: BlowerSetting | None = None
    indoor_setpoint: float | None = None
    indoor_rh: float | None = None
    latent_share: float | None = None
    idle_power: float | None = None
    answers_to: Literal["total", "sensible"] | None = None
    tariff: TariffEntry | None = None
    bill: BillEntry | None = None


@dataclass(frozen=True)
class CleaningEntry:
    """Price and effect of a cleaning, and how the coil fouls again.

    Attributes
    ----------
    price : float or None
        Price of one cleaning [money].
    restores : float
        Share of the fouling that it removes [-].
    growth_rate : float or None
        Level gained a year while clean [1/year].
    growth_rate_low, growth_rate_high : float or None
        Its 90 % range [1/year]; None for what any given rate has.
    growth_form : str
        ``"linear"``, ``"asymptotic"`` or ``"bursts"``.
    time_constant : float or None
        Time constant of asymptotic growth [years].
    bursts : tuple of int
        Months, 1 to 12, in which bursts fall.
    last_cleaned : date or None
        Date of the last cleaning.
    discount_rate : float or None
        Fall of the worth of money from year to year [-]; None for none.
    call_out : float or None
        Paid once for each visit, whatever is done on it, on top of the prices [money]; None for none.
    indoor_coil_price, filter_price : float or None
        Price of cleaning the indoor coil and of a new filter [money]; None leaves them out of the plan.
    indoor_coil_rate, filter_rate : float or None
        Rise a year of their air pressure drop, over that of the clean indoor coil [1/year].
    indoor_coil_cleaned, filter_changed : date or None
        When each was last done.
    """

    price: float | None = None
    restores: float = 1.0
    growth_rate: float | None = None
    growth_rate_low: float | None = None
    growth_rate_high: float | None = None
    growth_form: GrowthForm = "linear"
    time_constant: float | None = None
    bursts: tuple[int, ...] = ()
    last_cleaned: dt.date | None = None
    discount_rate: float | None = None
    call_out: float | None = None
    indoor_coil_price: float | None = None
    indoor_coil_rate: float | None = None
    indoor_coil_cleaned: dt.date | None = None
    filter_price: float | None = None
    filter_rate: float | None = None
    filter_changed: dt.date | None = None


@dataclass(frozen=True)
class TrackedDay:
    """Fouling on a day of a trend log, kept in the case.

    Attributes
    ----------
    date : date
    level, level_low, level_high : float
        Blocked share of the condenser's face and its 90 % range [-].
    outdoor_db : float or None
        Outdoor air in its steady stretches [K].
    event : str
        Kinds of change that began then, of `calibration.track.events`; empty for none.
    """

    date: dt.date
    level: float
    level_low: float
    level_high: float
    outdoor_db: float | None = None
    event: str = ""


@dataclass(frozen=True)
class ReportEntry:
    """Who and what the printed report names; empty where it is left to be filled in by hand.

    Attributes
    ----------
    customer, address : str
        Whose unit it is, and where.
    nameplate : str
        Model and serial number.
    company, licence_number, technician : str
        Who made the visit.
    coil_photo, nameplate_photo : str
        Names of files beside the case.
    """

    customer: str = ""
    address: str = ""
    nameplate: str = ""
    company: str = ""
    licence_number: str = ""
    technician: str = ""
    coil_photo: str = ""
    nameplate_photo: str = ""


@dataclass(frozen=True)
class Case:
    """One case file.

    Attributes
    ----------
    units : {"US", "SI"}
        System in which the file is written and its figures are shown.
    unit : UnitDescription
        The air conditioner.
    visits : tuple of Visit
        Those in cooling, in the order of the file.
    heating_visits : tuple of Visit
        Those in heating, likewise.
    instruments : Instruments
        Meters.
    season : Season or None
        Weather, load and tariff.
    cleaning : CleaningEntry or None
        Price and growth.
    report : ReportEntry
        Who and what the printed report names.
    track : tuple of TrackedDay
        Fouling over a trend log, in order of time.
    share : float
        Of the building's load and of the price of a cleaning that falls to it [-]: 1 but for one circuit of
        several.
    id : str
        What tells it from every other case, whatever files are called: random, given at its first save; empty
        before. Not compared: two cases that say the same are equal.
    source : Path or None
        File it was read from; not compared.
    remarks : tuple of str
        What was changed on reading (an older schema); not compared.
    """

    units: System
    unit: UnitDescription
    visits: tuple[Visit, ...] = ()
    instruments: Instruments = field(default_factory=Instruments)
    season: Season | None = None
    cleaning: CleaningEntry | None = None
    report: ReportEntry = field(default_factory=ReportEntry)
    share: float = 1.0
    heating_visits: tuple[Visit, ...] = ()
    track: tuple[TrackedDay, ...] = ()
    id: str = field(default="", compare=False, repr=False)
    source: Path | None = field(default=None, compare=False)
    remarks: tuple[str, ...] = field(default=(), compare=False)

    @property
    def clean_visits(self) -> tuple[Visit, ...]:
        """Visits with a clean condenser."""
        return tuple(visit for visit in self.visits if visit.coil == "clean")

    @property
    def found_visits(self) -> tuple[Visit, ...]:
        """Visits with the condenser as it was found."""
        return tuple(visit for visit in self.visits if visit.coil == "as found")

    @property
    def clean_heating_visits(self) -> tuple[Visit, ...]:
        """Visits in heating with a clean outdoor coil."""
        return tuple(visit for visit in self.heating_visits if visit.coil == "clean")

    @property
    def clean_dates(self) -> list[dt.date]:
        """Dates of visits with a clean coil, in cooling and in heating."""
        clean = (*self.clean_visits, *self.clean_heating_visits)
        return [visit.date for visit in clean if visit.date is not None]

    @property
    def last_date(self) -> dt.date | None:
        """Date of the last visit in either mode or of the last day of a log; None where there is none."""
        made = [visit.date for visit in (*self.visits, *self.heating_visits) if visit.date is not None]
        return max((*made, *(day.date for day in self.track)), default=None)

    @property
    def currency(self) -> str:
        """Currency of its prices."""
        tariff = self.season.tariff if self.season is not None else None
        return tariff.currency if tariff is not None else USUAL_CURRENCY

    def visit(self, label: str) -> Visit:
        """Visit with a label.

        Raises
        ------
        KeyError
            When no visit has it; the message lists the labels.
        """
        for visit in self.visits:
            if visit.label == label:
                return visit
        raise KeyError(f"no visit {label!r}; visits: {', '.join(v.label for v in self.visits) or 'none'}")
