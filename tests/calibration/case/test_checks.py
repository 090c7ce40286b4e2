"""What is refused, in which words, and what is not refused although it is unlikely."""

import pytest

from calibration.case.checks import impossible_so_far
from calibration.case.errors import CaseError
from calibration.case.file import parse_case
from calibration.case.records import UnitDescription
from calibration.case.units import PSI
from model.properties.moist_air import STANDARD_PRESSURE
from model.properties.refrigerant import KNOWN_REFRIGERANTS
from tests.calibration.sample_case import changed

SI = """\
units = "SI"
[unit]
name = "a"
refrigerant = "R410A"
expansion = "TXV"
rated_capacity = 10000
[[visit]]
coil = "clean"
outdoor_db = 32
return_db = 26
return_rh = 50
suction_pressure = 905
liquid_pressure = 2340
suction_temperature = 15
liquid_temperature = 33
"""


def problems_of(text):
    with pytest.raises(CaseError) as caught:
        parse_case(text)
    return [str(problem) for problem in caught.value.problems]


BAD = {
    "missing reading": (
        ("outdoor_db = 90.0\n", ""),
        "visit 1 (clean), outdoor_db: is missing; a number in degF, for example 95.0, is expected",
    ),
    "missing humidity": (
        ("return_wb = 65.0\n", ""),
        "visit 1 (clean), return_wb: is missing; one of return_wb, return_rh, return_dewpoint, "
        'or return_humidity = "unknown", is expected',
    ),
    "wet bulb above dry bulb": (
        ("return_wb = 65.0", "return_wb = 79"),
        "visit 1 (clean), return_wb: is 79 degF; at most the dry bulb return_db, 78 degF, is expected "
        "(a wet bulb is never above its dry bulb)",
    ),
    "wet bulb below bone-dry air": (
        ("return_wb = 65.0", "return_wb = 30"),
        "visit 1 (clean), return_wb: is 30 degF; a wet bulb nearer to return_db is expected "
        "(even bone-dry air would read higher)",
    ),
    "dew point above dry bulb": (
        ("supply_wb = 56.2", "supply_dewpoint = 59"),
        "visit 1 (clean), supply_dewpoint: is 59 degF; at most the dry bulb supply_db, 58 degF, is expected "
        "(a dew point is never above its dry bulb)",
    ),
    "kilopascals in a US file, suction": (
        ("suction_pressure = 130.5", "suction_pressure = 900"),
        "visit 1 (clean), suction_pressure: is 900 psi; -14 to 600 psi is expected (900 looks like kPa)",
    ),
    "kilopascals in a US file, liquid": (
        ("liquid_pressure = 340.0", "liquid_pressure = 2344"),
        "visit 1 (clean), liquid_pressure: is 2344 psi; -14 to 1500 psi is expected (2344 looks like kPa)",
    ),
    "absolute pascals": (
        ("liquid_pressure = 340.0", "liquid_pressure = 2345000"),
        "visit 1 (clean), liquid_pressure: is 2345000 psi; -14 to 1500 psi is expected "
        "(2345000 looks like Pa)",
    ),
    "bar": (
        ("liquid_pressure = 340.0", "liquid_pressure = 23.4"),
        "visit 1 (clean), liquid_pressure: is 23.4 psi; more than suction_pressure, 130.5 psi, is expected "
        "(23.4 looks like bar)",
    ),
    "above the critical point": (
        ("liquid_pressure = 340.0", "liquid_pressure = 720"),
        "visit 1 (clean), liquid_pressure: is 720 psi; -0.8 to 696.6 psi is expected, where R410A has a "
        "saturation temperature",
    ),
    "liquid below suction": (
        ("liquid_pressure = 340.0", "liquid_pressure = 120"),
        "visit 1 (clean), liquid_pressure: is 120 psi; more than suction_pressure, 130.5 psi, is expected "
        "(are the gauges swapped?)",
    ),
    "discharge below suction": (
        ("discharge_pressure = 346.0", "discharge_pressure = 100"),
        "visit 1 (clean), discharge_pressure: is 100 psi; more than suction_pressure, 130.5 psi, is expected "
        "(are the gauges swapped?)",
    ),
    "evaporating above the return air": (
        ("suction_pressure = 130.5", "suction_pressure = 260"),
        "visit 1 (clean), suction_pressure: is 260 psi; R410A evaporates there at 86.3 degF; below the "
        "return air, 78.0 degF, is expected",
    ),
    "condensing below the outdoor air": (
        ("liquid_pressure = 340.0", "liquid_pressure = 200"),
        "visit 1 (clean), liquid_pressure: is 200 psi; R410A condenses there at 69.3 degF; above the outdoor "
        "air, 90.0 degF, is expected",
    ),
    "unknown refrigerant": (
        ('"R410A"', '"R999"'),
        f"[unit] refrigerant: is 'R999'; known are {', '.join(KNOWN_REFRIGERANTS)}",
    ),
    "misspelt refrigerant": (
        ('"R410A"', '"R410"'),
        "[unit] refrigerant: is 'R410'; did you mean R410A?",
    ),
    "text in a number": (
        ("outdoor_db = 90.0", 'outdoor_db = "ninety"'),
        "visit 1 (clean), outdoor_db: is 'ninety'; a number in degF, for example 95.0, is expected",
    ),
    "yes in a number": (
        ("outdoor_db = 90.0", "outdoor_db = true"),
        "visit 1 (clean), outdoor_db: is true; a number in degF, for example 95.0, is expected",
    ),
    "not a number": (
        ("outdoor_db = 90.0", "outdoor_db = nan"),
        "visit 1 (clean), outdoor_db: is nan; a finite number is expected",
    ),
    "infinite": (
        ("altitude = 800.0", "altitude = inf"),
        "[unit] altitude: is inf; a finite number is expected",
    ),
    "a number of 400 digits": (
        ("altitude = 800.0", f"altitude = {'9' * 400}"),
        "[unit] altitude: is too large a number",
    ),
    "subcooling below zero": (
        ("liquid_temperature = 95.0", "liquid_temperature = 125"),
        "visit 1 (clean), liquid_temperature: is 125 degF; the bubble point of R410A at liquid_pressure, "
        "104.5 degF, or less is expected (subcooling would be -20.5 degF)",
    ),
    "superheat below zero": (
        ("suction_temperature = 58.0", "suction_temperature = 25"),
        "visit 1 (clean), suction_temperature: is 25 degF; the dew point of R410A at suction_pressure, "
        "45.0 degF, or more is expected (superheat would be -20.0 degF)",
    ),
    "no airflow": (
        ("indoor_airflow = 1180.0", "indoor_airflow = 0"),
        "visit 1 (clean), indoor_airflow: is 0 cfm; 30 to 40000 cfm is expected",
    ),
    "airflow in cubic metres": (
        ("indoor_airflow = 1180.0", "indoor_airflow = 0.55"),
        "visit 1 (clean), indoor_airflow: is 0.55 cfm; 30 to 40000 cfm is expected (0.55 looks like m3/s)",
    ),
    "two humidities": (
        ("return_wb = 65.0", "return_wb = 65.0\nreturn_rh = 50"),
        "visit 1 (clean), return_rh: is given beside return_wb; one of the two is expected",
    ),
    "two airflows": (
        ("indoor_airflow = 1180.0", "indoor_airflow = 1180.0\nindoor_airflow_standard = 1100"),
        "visit 1 (clean), indoor_airflow_standard: is given beside indoor_airflow; "
        "one of the two is expected",
    ),
    "watts twice": (
        ("outdoor_volts = 238.0", "outdoor_power = 3000\noutdoor_volts = 238.0"),
        "visit 2 (after two summers), outdoor_power: is given beside outdoor_volts, outdoor_amps, "
        "outdoor_power_factor; either watts or the others are expected",
    ),
    "humidity as a fraction": (
        ("return_rh = 51.0", "return_rh = 0.51"),
        "visit 2 (after two summers), return_rh: is 0.51 %; 1 to 100 % is expected "
        "(0.51 looks like a fraction)",
    ),
    "outdoor temperature in kelvin": (
        ("outdoor_db = 90.0", "outdoor_db = 305.5"),
        "visit 1 (clean), outdoor_db: is 305.5 degF; -40 to 150 degF is expected (305.5 looks like K)",
    ),
    "same label twice": (
        ('label = "after two summers"', 'label = "clean"'),
        "visit 2 (clean), label: is 'clean' as for visit 1; a label of its own is expected",
    ),
    "misspelt key": (
        ("supply_wb", "suply_wb"),
        "visit 1 (clean), suply_wb: is not known here; did you mean supply_wb?",
    ),
    "key of another table": (
        ("rated_eer = 12.0", "supply_db = 58.0"),
        "[unit] supply_db: is not known here; it belongs under [[visit]]",
    ),
    "misspelt table": (("[cleaning]", "[cleening]"), "cleening: is not known here; did you mean cleaning?"),
    "capacity in tons": (
        ("rated_capacity = 36000.0", "rated_capacity = 3"),
        "[unit] rated_capacity: is 3 Btu/h; 3000 to 2000000 Btu/h is expected (3 looks like tons)",
    ),
    "unknown units": (('units = "US"', 'units = "us"'), 'units: is \'us\'; "US" or "SI" is expected'),
    "unknown device": (
        ('expansion = "TXV"', 'expansion = "capillary"'),
        "[unit] expansion: is 'capillary'; known are TXV, fixed orifice",
    ),
    "date and time in one": (
        ("2026-05-14", "2026-05-14T10:00:00"),
        "visit 1 (clean), date: is 2026-05-14T10:00:00; a date such as 2026-05-14 is expected",
    ),
    "date the other way round": (
        ("2026-05-14", '"14.5.2026"'),
        "visit 1 (clean), date: is '14.5.2026'; year-month-day is expected, such as 2026-05-14",
    ),
    "year of a slip": (
        ("2026-05-14", "0226-05-14"),
        "visit 1 (clean), date: is 0226-05-14; a year from 1950 to 2200 is expected",
    ),
    "time in words": (
        ('"14:30"', '"half past two"'),
        "visit 1 (clean), time: is 'half past two'; hours and minutes are expected, such as \"14:30\"",
    ),
    "time with a zone": (
        ('"14:30"', '"14:30Z"'),
        "visit 1 (clean), time: is '14:30Z'; local time without a zone is expected",
    ),
    "control character": (
        ('name = "Sample"', 'name = "a\\u0000b"'),
        "[unit] name: holds the character '\\x00'; plain text is expected",
    ),
    "name over two lines": (
        ('name = "Sample"', 'name = "a\\nb"'),
        "[unit] name: a name on one line is expected",
    ),
    "endless notes": (
        ('notes = "south', f'notes = "{"x" * 5000}'),
        "visit 2 (after two summers), notes: has 5019 characters; at most 4000 are expected",
    ),
    "barometer of a weather report": (
        ("altitude = 800.0", "altitude = 5280"),
        "visit 1 (clean), barometer: is 29.1 inHg; about 24.64 inHg is expected at the unit's altitude "
        "(station pressure, not reduced to sea level)",
    ),
    "barometer in psi": (
        ("barometer = 29.1", "barometer = 14.4"),
        "visit 1 (clean), barometer: is 14.4 inHg; 16 to 32.5 inHg is expected (14.4 looks like psi)",
    ),
    "watts in kilowatts": (
        ("outdoor_power = 2620.0", "outdoor_power = 2.62"),
        "visit 1 (clean), outdoor_power: is 2.62 W; 20 to 300000 W is expected (2.62 looks like kW)",
    ),
    "phases": (
        ("outdoor_volts = 238.0", "outdoor_volts = 238.0\noutdoor_phases = 2"),
        "visit 2 (after two summers), outdoor_phases: is 2; 1 or 3 is expected",
    ),
    "a month too many": (
        ("months = [6, 7, 8]", "months = [6, 13]"),
        "[season.tariff.periods] 1, months: is [6, 13]; months from 1 to 12 are expected",
    ),
    "a day of another language": (
        ('"Tue"', '"Mardi"'),
        "[season.tariff.periods] 1, weekdays: holds 'Mardi'; days such as Mon, Tue, Wed, Thu, Fri, Sat, Sun "
        "are expected",
    ),
    "one hour": (
        ("hours = [14, 20]", "hours = [14]"),
        "[season.tariff.periods] 1, hours: is [14]; two hours from 0 to 24 are expected, such as [14, 20]",
    ),
    "text among hours": (
        ("hours = [14, 20]", 'hours = [14, "20"]'),
        "[season.tariff.periods] 1, hours, entry 2: is '20'; a whole number is expected",
    ),
    "no price": (
        ("energy_price = 0.16\n", ""),
        "[season.tariff] energy_price: is missing; a number per kWh, for example 0.1600, is expected",
    ),
    "balance above design": (
        ("balance_temperature = 65.0", "balance_temperature = 96"),
        "[season] balance_temperature: less than design_outdoor is expected",
    ),
    "an economiser for the hottest day": (
        ("design_outdoor = 95.0", "design_outdoor = 80.0\neconomiser_below = 82"),
        "[season] economiser_below: less than design_outdoor is expected",
    ),
    "a blower that sometimes runs": (
        ("balance_temperature = 65.0", 'balance_temperature = 65.0\nblower = "sometimes"'),
        "[season] blower: is 'sometimes'; known are automatic, continuous",
    ),
    "cut-outs the wrong way round": (
        ("low_pressure_limit = 50.0", "low_pressure_limit = 190"),
        None,
    ),
    "falling stages": (
        ("stages = [0.67, 1.0]", "stages = [1.0, 0.67]"),
        "[unit] stages: is [1.0, 0.67]; fractions of full speed from 0.1 to 2 that rise are expected, "
        "such as [0.67, 1.0]",
    ),
    "a standing stage": (
        ("stages = [0.67, 1.0]", "stages = [0.0, 1.0]"),
        "[unit] stages: is [0.0, 1.0]; fractions of full speed from 0.1 to 2 that rise are expected, "
        "such as [0.67, 1.0]",
    ),
    "too many stages": (
        ("stages = [0.67, 1.0]", "stages = [0.2, 0.4, 0.6, 0.8, 1.0]"),
        "[unit] stages: has 5; at most 4 are expected",
    ),
    "stages beside a range": (
        ("stages = [0.67, 1.0]", "stages = [0.67, 1.0]\nspeed_range = [0.3, 1.0]"),
        "[unit] speed_range: is given beside stages; one of the two is expected",
    ),
    "a range of three": (
        ("stages = [0.67, 1.0]", "speed_range = [0.3, 0.6, 1.0]"),
        "[unit] speed_range: has 3; the lowest and the highest are expected",
    ),
    "one fan speed": (
        ("stages = [0.67, 1.0]", "stages = [0.67, 1.0]\nblower_speeds = [0.7]"),
        "[unit] blower_speeds: has 1; 2 are expected, one for each of stages",
    ),
    "fan speeds alone": (
        ("stages = [0.67, 1.0]", "outdoor_fan_speeds = [0.7, 1.0]"),
        "[unit] outdoor_fan_speeds: has 2; stages or speed_range are expected beside it",
    ),
    "a heat pump in words": (
        ("stages = [0.67, 1.0]", 'heat_pump = "yes"'),
        "[unit] heat_pump: is 'yes'; true or false without quotes is expected",
    ),
    "map of nine": (
        ("power = [500.0, ", "power = ["),
        "[unit.compressor_map] power: has 9 coefficients; ten are expected (AHRI 540)",
    ),
    "map of another form": (
        ('form = "US"', 'form = "EU"'),
        '[unit.compressor_map] form: is \'EU\'; "US" or "SI" is expected',
    ),
    "map without its superheat": (
        ("superheat = 20.0\n", ""),
        "[unit.compressor_map] superheat: either superheat or return_gas_temperature is expected",
    ),
    "unknown key in a map": (
        ("superheat = 20.0", "suprheat = 20.0"),
        "[unit.compressor_map] suprheat: is not known here; did you mean superheat?",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_one_fault_is_one_sentence(name):
    change, sentence = BAD[name]
    if sentence is None:
        change = ("high_pressure_limit = 610.0\nlow_pressure_limit = 50.0", "high_pressure_limit = 60.0")
        change = (change[0], change[1] + "\nlow_pressure_limit = 70.0")
        sentence = "[unit] low_pressure_limit: less than high_pressure_limit is expected"
    assert problems_of(changed(change)) == [sentence]


@pytest.mark.parametrize(
    ("change", "part"),
    [
        (("suction_pressure = 905", "suction_pressure = 130"), "(130 looks like psi)"),
        (("liquid_pressure = 2340", "liquid_pressure = 340"), "looks like psi"),
        (
            ("outdoor_db = 32", "outdoor_db = 95"),
            "is 95 degC; -40 to 65.56 degC is expected (95 looks like degF)",
        ),
        (("rated_capacity = 10000", "rated_capacity = 10"), "(10 looks like tons or kW)"),
        (("rated_capacity = 10000", "rated_capacity = 10000\nrated_eer = 12"), "(12 looks like Btu/(W h))"),
    ],
)
def test_us_numbers_in_an_si_file_are_recognised_by_their_size(change, part):
    assert change[0] in SI
    problems = problems_of(SI.replace(*change))
    assert any(part in problem for problem in problems)


@pytest.mark.parametrize(
    "change",
    [
        ("outdoor_db = 90.0", "outdoor_db = 60"),
        ("suction_pressure = 130.5", "suction_pressure = 60"),
        ("suction_temperature = 58.0", "suction_temperature = 44.5"),  # flooded, within the meters' errors
        ("suction_temperature = 58.0", "suction_temperature = 33.0"),  # flooded, and a gauge 15 psi high
        ("liquid_temperature = 95.0", "liquid_temperature = 105.0"),  # flash gas, within the meters' errors
        ("liquid_temperature = 95.0", "liquid_temperature = 115.0"),  # flash gas, and a gauge 15 psi low
        ("supply_wb = 56.2", "supply_wb = 58.0"),  # saturated supply air
        ("supply_db = 58.0", "supply_db = 85"),  # warmer than the return
        ("discharge_pressure = 346.0", "discharge_pressure = 335"),
        ("2026-05-14", "2031-05-14"),
        ("rated_eer = 12.0\n", ""),
        ("outdoor_power = 2620.0", "outdoor_power = 9000"),
    ],
)
def test_unlikely_readings_are_accepted(change):
    assert len(parse_case(changed(change)).visits) == 2


def test_all_faults_are_listed_at_once():
    text = changed(
        ('"R410A"', '"R999"'),
        ("return_wb = 65.0", "return_wb = 200"),
        ("indoor_airflow = 1180.0", "indoor_airflow = -1"),
        ("return_rh = 51.0", 'return_rh = "dry"'),
        ("price = 180.0", "prise = 180.0"),
        ("months = [6, 7, 8]", "months = [0]"),
    )
    with pytest.raises(CaseError) as caught:
        parse_case(text)
    paths = [problem.path for problem in caught.value.problems]
    assert sorted(map(str, paths)) == sorted(
        map(
            str,
            [
                ("unit", "refrigerant"),
                ("visit", 0, "return_wb"),
                ("visit", 0, "indoor_airflow"),
                ("visit", 1, "return_rh"),
                ("cleaning", "prise"),
                ("season", "tariff", "periods", 0, "months"),
            ],
        )
    )
    assert len(str(caught.value).splitlines()) == 6


def test_glide_is_kept_apart():
    # R407C at 500 kPa gauge: the dew point is near 9 degC, the bubble point some 6 K colder
    text = SI.replace("R410A", "R407C").replace("liquid_pressure = 2340", "liquid_pressure = 1800")
    text = text.replace("suction_pressure = 905", "suction_pressure = 500")
    dew = parse_case(text.replace("suction_temperature = 15", "suction_temperature = 9.5"))
    assert dew.visits[0].suction_temperature == pytest.approx(282.65)
    (problem,) = problems_of(text.replace("suction_temperature = 15", "suction_temperature = -3"))
    assert "dew point of R407C" in problem


def so_far(**readings: float) -> dict[str, str]:
    unit = UnitDescription("unit", "R410A", "TXV", 10_000.0)
    return impossible_so_far(readings, (unit, "US"), STANDARD_PRESSURE)


def test_what_cannot_be_is_said_before_the_visit_is_complete():
    absolute = 101_325.0
    swapped = so_far(suction_pressure=400 * PSI + absolute, liquid_pressure=130 * PSI + absolute)
    assert "are the gauges swapped?" in swapped["liquid_pressure"]
    wet = so_far(return_db=297.0, return_wb=298.0)
    assert "a wet bulb is never above its dry bulb" in wet["return_wb"]
    warm = so_far(suction_pressure=130 * PSI + absolute, suction_temperature=270.0)
    assert "superheat would be" in warm["suction_temperature"]


def test_nothing_is_said_that_needs_a_reading_which_is_not_there():
    assert so_far() == {}
    assert so_far(return_wb=298.0, supply_wb=290.0) == {}
    assert so_far(suction_pressure=400 * PSI + 101_325.0) == {}, "the return air decides on that"
