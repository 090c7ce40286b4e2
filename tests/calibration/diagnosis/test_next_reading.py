"""What would settle it: expected information against closed forms, and sense."""

import numpy as np
import pytest

from calibration.case.keys import find_key
from calibration.diagnosis.evidence import probabilities, weighed
from calibration.diagnosis.hypotheses import candidates
from calibration.diagnosis.next_reading import HOW, suggestions
from calibration.diagnosis.visit_model import STANDING
from calibration.diagnosis.scene import scene
from model.cycle.faults import Faults
from tests.calibration.made_visits import DESCRIPTION
from tests.calibration.matched_visits import METERS, baseline, clean_visit, found_visit, matched


def test_every_way_to_read_belongs_to_a_known_key():
    assert all(find_key(name, "visit") is not None for name in HOW)


def test_information_is_between_nothing_and_all_that_is_open():
    match = matched("undercharge", 0.15)
    shares = np.array([one.probability for one in match.probabilities if one.probability > 0])
    entropy = -float(np.sum(shares * np.log2(shares)))
    told = match.suggestions
    assert told
    assert [one.information for one in told] == sorted((one.information for one in told), reverse=True)
    for one in told:
        assert 0.0 < one.information < entropy
        assert 0.0 < one.share < 1.0
        assert one.words.startswith(("Read: ", "Repeat with a better meter: "))
        assert one.separates[0] != one.separates[1]


def test_nothing_is_asked_where_nothing_is_open():
    place, found, _ = blocked_or_gas(Faults(condenser_blocked=0.48), (0, 1))
    assert suggestions(place, found, np.array([0.0, 1.0])) == ()


def blocked_or_gas(faults, numbers):
    visit = found_visit(faults)
    place = scene(baseline(DESCRIPTION), [clean_visit(DESCRIPTION)], visit, METERS)
    all_of_them = candidates().all
    found = weighed(place, tuple(all_of_them[number] for number in numbers))
    return place, found, probabilities(found, 0.03)


def test_gas_against_charge_is_settled_with_the_unit_off():
    # Clean, overcharge, non-condensable gas, made equally likely whatever the readings say.
    place, found, _ = blocked_or_gas(Faults(noncondensable=2.5e5), (0, 6, 7))
    told = suggestions(place, found, np.array([0.0, 0.5, 0.5]))
    first = told[0]
    assert first.reading == STANDING
    assert not first.again
    assert set(first.separates) == {"overcharge", "non_condensables"}
    # Two equally likely faults are one bit apart; a pressure tens of kPa off tells most of it.
    assert 0.5 < first.information <= 1.0
    gas = first.separates.index("non_condensables")
    assert first.values[gas] > first.values[1 - gas] + 5e4


def test_a_repeated_reading_is_marked_as_one():
    place, found, shares = blocked_or_gas(Faults(charge_change=-0.07), (0, 5))
    told = suggestions(place, found, shares, most=30)
    taken = {place.names[row] for row in np.flatnonzero(place.taken)}
    assert {one.reading for one in told if one.again} <= taken
    assert not {one.reading for one in told if not one.again} & taken
    assert any(one.reading == "liquid_temperature" and one.again for one in told)
    assert all(one.information == pytest.approx(0.0, abs=1.0) for one in told)
