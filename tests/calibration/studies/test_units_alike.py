"""An invented fleet with several units of each nameplate: what they share, and who was read clean."""

from functools import cache

import numpy as np

from calibration.fleet.nameplates import nameplate_of
from calibration.studies.units_alike import LEVELS, NAMEPLATE_ALONE, UNITS_A_NAMEPLATE, units_alike


@cache
def fleet():
    return units_alike(2, 0.95, seed=3)


def test_units_of_a_nameplate_have_one_nameplate_and_others_another():
    plates = [nameplate_of(one.true.description) for one in fleet()]
    assert len(set(plates[:UNITS_A_NAMEPLATE])) == len(set(plates[UNITS_A_NAMEPLATE:])) == 1
    assert plates[0] != plates[-1]


def test_some_were_read_clean_and_all_as_found():
    for one in fleet()[UNITS_A_NAMEPLATE:]:
        assert not one.is_odd
    first = fleet()[:UNITS_A_NAMEPLATE]
    assert [one.clean is None for one in first].count(True) == NAMEPLATE_ALONE
    assert [one.is_odd for one in first] == [True, False, False, False, True]
    for one in fleet():
        assert LEVELS[0] <= one.level <= LEVELS[1]
        assert 0.0 < one.eer_lost < 0.5
        assert one.found.coil == "as found"


def test_units_of_a_model_are_nearer_to_each_other_than_to_an_odd_one():
    sizes = [float(np.asarray(one.true.unit.compressor.displacement)) for one in fleet()[:UNITS_A_NAMEPLATE]]
    usual = sizes[1:-1]
    assert max(usual) / min(usual) < 1.3
    assert min(abs(np.log(one / np.mean(usual))) for one in (sizes[0], sizes[-1])) > 0.1
