"""An invented case with every section, for the tests of reading and writing."""

SAMPLE = """\
schema = 1
units = "US"

[unit]
name = "Sample"
refrigerant = "R410A"
expansion = "TXV"
compressor = "scroll"
indoor_blower = "fixed speed"
outdoor_fan = "fixed speed"
coil_type = "tube and fin"
rated_capacity = 36000.0
rated_eer = 12.0
altitude = 800.0
high_pressure_limit = 610.0
low_pressure_limit = 50.0
charge = 7.5
stages = [0.67, 1.0]

[unit.compressor_map]
form = "US"
mass_flow = [150.0, 4.5, -1.0, 0.03, 0.01, 0.002, 0.0001, 0.0, 0.0, 0.0]
power = [500.0, -3.0, 20.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]
superheat = 20.0

[[visit]]
date = 2026-05-14
time = "14:30"
label = "clean"
coil = "clean"
outdoor_db = 90.0
return_db = 78.0
return_wb = 65.0
supply_db = 58.0
supply_wb = 56.2
indoor_airflow = 1180.0
condenser_leaving_db = 106.0
barometer = 29.1
suction_pressure = 130.5
liquid_pressure = 340.0
discharge_pressure = 346.0
suction_temperature = 58.0
liquid_temperature = 95.0
discharge_temperature = 158.0
outdoor_power = 2620.0
indoor_power = 410.0

[[visit]]
date = 2027-07-02
label = "after two summers"
coil = "as found"
outdoor_db = 95.0
return_db = 80.0
return_rh = 51.0
suction_pressure = 133.0
liquid_pressure = 420.0
suction_temperature = 60.0
outdoor_volts = 238.0
outdoor_amps = 14.2
outdoor_power_factor = 0.95
notes = "south side, \\"cottonwood\\""

[instruments]
liquid_gauge = 2.0

[cleaning]
price = 180.0
restores = 0.9
growth_rate = 0.15
growth_form = "bursts"
bursts = [5, 6]
last_cleaned = 2025-04-02

[season]
weather = "bins"
cooling_hours = 1300.0
design_load = 32000.0
design_outdoor = 95.0
balance_temperature = 65.0
cycling_loss = 0.2
indoor_setpoint = 75.0
indoor_rh = 50.0

[season.tariff]
energy_price = 0.16
demand_charge = 8.0
escalation = 0.03
carbon_intensity = 0.37
currency = "USD"

[[season.tariff.periods]]
months = [6, 7, 8]
weekdays = ["Mon", "Tue", "Wed"]
hours = [14, 20]
price = 0.3
"""


def changed(*changes: tuple[str, str]) -> str:
    """The sample with pieces of its text replaced; each must be there."""
    text = SAMPLE
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text
