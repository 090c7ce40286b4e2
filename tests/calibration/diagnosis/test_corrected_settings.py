"""Settings grossly wrong: the wrong one is named, its true value supported, and the fault beside it found.

A known invented unit and perfect meters, one setting bent. The return dry bulb is left out: the others hardly
say what it should be.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from calibration.diagnosis.corrected_settings import with_corrected_settings
from calibration.diagnosis.evidence import Inquiry, weighed
from calibration.diagnosis.gross_errors import HUNTING_VALVE, gross_errors
from calibration.diagnosis.hypotheses import NO_FAULT, hypotheses
from calibration.diagnosis.scene import scene
from model.cycle.faults import HEALTHY, Faults
from tests.calibration.made_visits import DESCRIPTION
from tests.calibration.matched_visits import METERS, baseline, clean_visit, found_visit, judged

BENT = {
    "wet bulb 3 K high": ("return_wb", 3.0),
    "dry wick, nearly the dry bulb": ("return_wb", 7.2),
    "outdoor thermometer in the sun": ("outdoor_db", 7.0),
}


@cache
def bent(name: str, blocked: float = 0.0):
    reading, change = BENT[name]
    visit = found_visit(Faults(condenser_blocked=blocked) if blocked else HEALTHY)
    return visit, judged(replace(visit, **{reading: getattr(visit, reading) + change}))


def chance(found, reading):
    return found.supported()[found.errors.names.index(reading)].probability


@pytest.mark.parametrize("name", BENT)
def test_the_wrong_setting_is_named_and_no_other_reading(name):
    (reading, change), (_, found) = BENT[name], bent(name)
    assert chance(found, reading) > 0.9
    others = [one for one in found.errors.names if one not in (reading, HUNTING_VALVE)]
    assert max(chance(found, one) for one in others) < 0.1
    number = found.errors.names.index(reading)
    one = found.supported()[number]
    assert found.errors.spread[number] * one.error == pytest.approx(
        -change, abs=2.5 * found.errors.spread[number] * one.spread
    )
    assert found.shares[found.number(NO_FAULT)] > 0.5


@pytest.mark.parametrize("name", ["wet bulb 3 K high", "dry wick, nearly the dry bulb"])
def test_a_fouled_coil_beside_a_wrong_wet_bulb_is_still_found(name):
    _, found = bent(name, 0.48)
    assert chance(found, "return_wb") > 0.9
    fouled = sum(
        share
        for share, one in zip(found.shares, found.explanations, strict=True)
        if one.hypothesis.has("condenser_blocked", "condenser_dust")
    )
    assert fouled > 0.9


def test_nothing_changes_where_no_setting_may_be_wrong():
    visit = found_visit(HEALTHY)
    place = scene(baseline(DESCRIPTION), [clean_visit(DESCRIPTION)], visit, METERS)
    asked = [Inquiry(place, gross_errors(place), hypotheses().all)]
    plain = weighed(asked)
    (plain,), (again,) = plain, with_corrected_settings(asked, plain)
    assert [one.hypothesis for one in again] == [one.hypothesis for one in plain]
    for one, other in zip(again, plain, strict=True):
        assert one.evidence == pytest.approx(other.evidence, abs=0.05)
        assert np.array_equal(one.right, other.right)


def test_the_slopes_at_the_value_as_read_would_blame_another_reading():
    """What the second look is for: without it the return dry bulb, which is right, takes the blame."""
    visit = found_visit(HEALTHY)
    visit = replace(visit, return_wb=visit.return_wb + BENT["dry wick, nearly the dry bulb"][1])
    place = scene(baseline(DESCRIPTION), [clean_visit(DESCRIPTION)], visit, METERS)
    errors = gross_errors(place)
    asked = [Inquiry(place, errors, hypotheses().all[:1])]
    plain = weighed(asked)
    ((first,),), ((again,),) = plain, with_corrected_settings(asked, plain)
    number = errors.names.index("return_wb")
    assert again.one_wrong[0, number] > first.one_wrong[0, number] + 3.0
    assert np.argmax(again.one_wrong[0]) == number
