"""Columns of predictions: the faults that go in, with their ranges, and the figures that come out.

Rows of `calibration.case.keys`, which says what a column of a row means. Typical ranges and examples are
common practice, no source, in US units.
"""

from __future__ import annotations

from calibration.case import units
from calibration.case.units import Quantity

FaultRow = tuple[str, str, Quantity, tuple[float, float], float]
"""Field of `model.cycle.faults.Faults`, words, quantity, typical range and example, in US units."""
FAULT_ROWS: tuple[FaultRow, ...] = (
    ("condenser_blocked", "Share of the condenser's face blocked", units.FRACTION, (0, 0.8), 0.3),
    ("condenser_dust", "Dust on the condenser, rise of its air resistance", units.COUNT, (0, 6), 1),
    ("condenser_airflow_lost", "Share of the condenser's airflow lost", units.FRACTION, (0, 0.8), 0.3),
    ("condenser_recirculation", "Share of the condenser's air drawn back", units.FRACTION, (0, 0.6), 0.2),
    ("condenser_fan_slow", "Share of the outdoor fan's speed lost", units.FRACTION, (0, 0.6), 0.2),
    ("evaporator_dust", "Dust on the evaporator, rise of its air resistance", units.COUNT, (0, 6), 1),
    ("evaporator_airflow_lost", "Share of the indoor airflow lost", units.FRACTION, (0, 0.6), 0.2),
    ("charge_change", "Change of charge, share of the correct charge", units.FRACTION, (-0.4, 0.4), -0.1),
    ("noncondensable", "Non-condensables, partial pressure", units.PRESSURE_DIFFERENCE, (0, 90), 20),
    (
        "liquid_restriction",
        "Liquid-line restriction, over the drop of the expansion device",
        units.COUNT,
        (0, 3),
        0.5,
    ),
    ("compressor_leakage", "Share of the compressor's flow that leaks back", units.FRACTION, (0, 0.5), 0.1),
    ("valve_overfeed", "Excess opening of the expansion device", units.FRACTION, (0, 1.5), 0.3),
)
ResultRow = tuple[str, str, Quantity]
"""Name, words and quantity of a measured or predicted figure."""
RESULT_ROWS: tuple[ResultRow, ...] = (
    ("evaporating_temperature", "Evaporating temperature", units.TEMPERATURE),
    ("condensing_temperature", "Condensing temperature", units.TEMPERATURE),
    ("superheat", "Superheat", units.TEMPERATURE_DIFFERENCE),
    ("subcooling", "Subcooling", units.TEMPERATURE_DIFFERENCE),
    ("discharge_superheat", "Discharge superheat", units.TEMPERATURE_DIFFERENCE),
    ("approach", "Condensing temperature over ambient", units.TEMPERATURE_DIFFERENCE),
    ("air_drop", "Air temperature drop, return to supply", units.TEMPERATURE_DIFFERENCE),
    ("condenser_air_rise", "Air temperature rise over the condenser", units.TEMPERATURE_DIFFERENCE),
    ("capacity", "Capacity, net of the blower", units.CAPACITY),
    ("net_capacity", "Capacity, net of the blower", units.CAPACITY),
    ("gross_capacity", "Capacity of the coil", units.CAPACITY),
    ("sensible_capacity", "Sensible capacity", units.CAPACITY),
    ("latent_capacity", "Latent capacity", units.CAPACITY),
    ("sensible_heat_ratio", "Sensible heat ratio", units.FRACTION),
    ("total_power", "Total power", units.POWER),
    ("eer", "EER", units.EFFICIENCY),
    ("eer_without_blower", "EER of coil and outdoor unit", units.EFFICIENCY),
    ("cop", "COP", units.COEFFICIENT),
    ("cop_without_blower", "COP of coil and outdoor unit", units.COEFFICIENT),
    ("refrigerant_flow", "Refrigerant flow", units.REFRIGERANT_FLOW),
    ("trip_temperature", "High-pressure trip at outdoor temperature", units.TEMPERATURE),
    ("trip_blocked", "High-pressure trip at blocked face", units.PERCENT),
    ("air_flow", "Indoor airflow, dry air", units.AIR_MASS_FLOW),
    ("return_humidity_ratio", "Return air, humidity ratio", units.HUMIDITY_RATIO),
    ("supply_humidity_ratio", "Supply air, humidity ratio", units.HUMIDITY_RATIO),
)
