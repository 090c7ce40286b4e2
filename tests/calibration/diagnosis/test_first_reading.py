"""The reading that is worth taking: what is in the way, what is suspect, what tells most, or none."""

from dataclasses import replace

import pytest

from calibration.diagnosis.first_reading import LITTLE, first_reading
from calibration.diagnosis.next_reading import Suggestion
from tests.dashboard.demo_findings import found


def suggested(reading, share, again=False):
    return Suggestion(reading, again, share, share, ("a", "b"), (0.0, 1.0))


@pytest.fixture(scope="module")
def finding():
    return replace(found("as found"), suspects=())


def test_the_most_informative_one_that_is_worth_it(finding):
    some = (suggested("supply_wb", 0.5 * LITTLE), suggested("liquid_temperature", 2 * LITTLE, True))
    assert first_reading(replace(finding, suggestions=some)) == ("liquid_temperature", True)
    assert first_reading(replace(finding, suggestions=some[:1])) is None


def test_what_is_in_the_way_where_no_fault_fits(finding):
    none = replace(finding, verdict="none_of_these", in_the_way="suction_pressure")
    assert first_reading(none) == ("suction_pressure", True)
