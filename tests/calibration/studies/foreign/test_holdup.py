"""Void fractions of Smith and of Rouhani and Axelsson: ends, order, and what the flow does."""

import numpy as np
import pytest

from calibration.studies.foreign.holdup import HOLDUPS, void_fraction
from model.components.charge import void_fraction as zivi

LIQUID, VAPOUR = np.array(1000.0), np.array(60.0)
FLUX = np.array(200.0)


@pytest.mark.parametrize("kind", HOLDUPS)
def test_all_liquid_has_no_void_and_all_gas_no_liquid(kind):
    assert void_fraction(kind, np.array(0.0), LIQUID, VAPOUR, FLUX) < 1e-3
    assert void_fraction(kind, np.array(1.0), LIQUID, VAPOUR, FLUX) == pytest.approx(1.0)


@pytest.mark.parametrize("kind", HOLDUPS)
def test_the_void_grows_with_quality_and_stays_below_that_of_phases_at_one_speed(kind):
    quality = np.linspace(0.01, 0.99, 50)
    void = void_fraction(kind, quality, LIQUID, VAPOUR, FLUX)
    together = quality / VAPOUR / (quality / VAPOUR + (1.0 - quality) / LIQUID)
    assert (np.diff(void) > 0.0).all()
    assert (void < together).all()


def test_only_drift_depends_on_the_flux():
    quality = np.array(0.3)
    slow, fast = (void_fraction("drift flux", quality, LIQUID, VAPOUR, np.array(g)) for g in (80.0, 400.0))
    assert slow < fast
    slow, fast = (
        void_fraction("equal velocity head", quality, LIQUID, VAPOUR, np.array(g)) for g in (80.0, 400.0)
    )
    assert slow == fast


def test_both_differ_from_the_model_by_more_than_a_tenth_of_the_liquid():
    quality = np.linspace(0.05, 0.95, 19)
    own = 1.0 - zivi(quality, VAPOUR / LIQUID)
    for kind in HOLDUPS:
        ratio = (1.0 - void_fraction(kind, quality, LIQUID, VAPOUR, FLUX)) / own
        assert np.abs(ratio - 1.0).max() > 0.1
