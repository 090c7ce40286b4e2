"""Columns of predictions stand for fields of the model, each once, within what the model accepts."""

from dataclasses import fields

from calibration.case.result_rows import FAULT_ROWS, RESULT_ROWS
from calibration.measured.performance import MeasuredPerformance
from model.cycle.faults import RANGES, Faults
from model.cycle.operating_point import OperatingPoint


def test_every_fault_of_the_model_has_one_row():
    assert sorted(row[0] for row in FAULT_ROWS) == sorted(field.name for field in fields(Faults))


def test_ranges_and_examples_are_accepted_by_the_model():
    for name, _, quantity, (low, high), example in FAULT_ROWS:
        assert low <= example <= high
        least, most = RANGES[name][:2]
        for value in (low, high, example):
            assert least <= float(quantity.to_si(float(value), "US")) <= most, name


def test_results_are_named_once_and_are_figures_of_a_point_or_of_a_visit():
    names = [row[0] for row in RESULT_ROWS]
    assert len(names) == len(set(names))
    known = {field.name for one in (OperatingPoint, MeasuredPerformance) for field in fields(one)}
    assert set(names) - known <= {
        "capacity",
        "cop",
        "cop_without_blower",
        "state",
        "trip_temperature",
        "trip_blocked",
    }
