"""What one who knows how a fleet was drawn makes of it."""

import numpy as np
import pytest

from calibration.fleet.pooling import PRIOR_MIDDLE, UnitGrowth
from calibration.studies.invented_fleet import EXPOSURES, ODD_FACTOR
from calibration.studies.pooling_bound import best_logarithms


def test_without_a_reading_the_middle_of_the_surroundings_and_what_odd_units_add():
    (one,) = best_logarithms([UnitGrowth("a", "open roof")])
    middle = PRIOR_MIDDLE + np.log(EXPOSURES["open roof"])
    assert one == pytest.approx(middle + 0.03 * np.log(ODD_FACTOR), abs=0.01)


def test_a_precise_level_counts_alone_and_moves_its_site():
    read = UnitGrowth("a", "open roof", 0.3, 0.003, 3.0)
    found, new, elsewhere = best_logarithms(
        [read, UnitGrowth("a", "open roof"), UnitGrowth("b", "open roof")]
    )
    assert found == pytest.approx(np.log(0.1), abs=0.01)
    assert elsewhere < new < found


def test_an_odd_unit_that_is_hardly_fouled_yet_is_taken_for_a_usual_one():
    site = [UnitGrowth("a", "sheltered", 0.04, 0.01, 2.0)] * 6
    odd = UnitGrowth("a", "sheltered", 0.1, 0.05, 1.25)
    assert best_logarithms([*site, odd])[-1] < np.log(0.04)
