"""The next reading: expected information against closed forms, and sense."""

from dataclasses import replace

import numpy as np

from calibration.case.keys import find_key
from calibration.diagnosis.next_reading import EASE, suggestions
from calibration.diagnosis.posterior import Posterior
from calibration.diagnosis.visit_model import STANDING
from model.cycle.faults import Faults
from tests.calibration.matched_visits import found, found_visit, half_blocked, judged


def only(posterior: Posterior, shares: dict[str, float]) -> Posterior:
    """The same with given probabilities, whatever the readings say."""
    chosen = np.zeros(len(posterior.shares))
    for key, share in shares.items():
        chosen[posterior.number(key)] = share
    return replace(posterior, shares=chosen, none_of_these=0.0)


def test_every_weight_belongs_to_a_known_reading():
    assert all(find_key(name, "visit") is not None for name in EASE)
    assert all(0.0 < weight <= 1.0 for weight in EASE.values())


def test_information_is_between_nothing_and_all_that_is_open():
    finding = found("undercharge", 0.15)
    assert finding.suggestions
    for one in finding.suggestions:
        assert one.information > 0.0
        assert 0.0 < one.share <= 1.0


def test_only_what_asks_for_other_work_is_worth_a_reading():
    """A blocked face and a dust layer are one cleaning: nothing is open between them."""
    coil = only(half_blocked(), {"condenser_blocked": 0.5, "condenser_dust": 0.5})
    fan = only(half_blocked(), {"condenser_blocked": 0.5, "condenser_fan_slow": 0.5})
    most = [max((one.information for one in suggestions(found)), default=0.0) for found in (coil, fan)]
    assert most[1] > most[0] + 0.2


def test_gas_against_charge_is_separated_with_the_unit_off():
    visit = found_visit(Faults(noncondensable=2.5e5))
    open_between = only(judged(visit), {"overcharge": 0.5, "non_condensables": 0.5})
    one = next(one for one in suggestions(open_between) if one.reading == STANDING)
    assert not one.again
    assert set(one.separates) == {"overcharge", "non_condensables"}
    # Two equally likely faults are one bit apart; a pressure tens of kPa off says most of it.
    assert 0.5 < one.information <= 1.0
    gas = one.separates.index("non_condensables")
    assert one.values[gas] > one.values[1 - gas] + 5e4


def test_a_repeated_reading_is_marked_as_one():
    posterior = judged(found_visit(Faults(charge_change=-0.07)))
    rows = suggestions(posterior, most=30)
    place = posterior.place
    taken = {place.names[row] for row in np.flatnonzero(place.taken)}
    assert {one.reading for one in rows if one.again} <= taken
    assert not {one.reading for one in rows if not one.again} & taken


def test_a_reading_that_is_probably_wrong_is_repeated_first():
    visit = found_visit(Faults())
    rows = suggestions(judged(replace(visit, liquid_temperature=visit.liquid_temperature + 12.0)))
    assert rows[0].reading == "liquid_temperature"
    assert rows[0].again
