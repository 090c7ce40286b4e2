"""Points drawn over the whole envelope: every one converged or at a named limit, every balance closed."""

import numpy as np
import pytest

from calibration.studies.envelope import (
    AXES,
    DEVICES,
    REFRIGERANTS,
    drawn_points,
    envelope_study,
    situations,
)
from model.cycle.solve import STATES, solve

POINTS = 5000
"""In all, over refrigerants and devices."""


@pytest.fixture(scope="module")
def study():
    return envelope_study(-(-POINTS // (len(REFRIGERANTS) * len(DEVICES))))


def test_every_point_converged_or_is_at_a_named_limit(study):
    assert sum(outcomes.points for outcomes in study) >= POINTS
    assert {(o.refrigerant, o.expansion) for o in study} == {(r, d) for r in REFRIGERANTS for d in DEVICES}
    for outcomes in study:
        assert outcomes.counts["not converged"] == 0, outcomes
        assert outcomes.answered == 1.0
        assert outcomes.converged_without_limit >= 0.999


def test_every_number_is_finite(study):
    assert [outcomes.not_finite for outcomes in study] == [0] * len(study)


def test_mass_and_energy_balances_close_within_a_millionth(study):
    for outcomes in study:
        assert outcomes.residual < 1e-6
        assert outcomes.first_law < 1e-6
        assert outcomes.indoor_air < 1e-6
        assert outcomes.outdoor_air < 1e-6
        assert outcomes.met


def test_the_envelope_reaches_the_limit_states(study):
    met = {state for outcomes in study for state in STATES if outcomes.counts[state]}
    assert met >= {
        "ok",
        "flash gas",
        "flooded suction",
        "coil below freezing",
        "discharge too hot",
        "high-pressure trip",
    }


def test_points_fill_the_envelope_evenly_and_are_the_same_every_time():
    drawn = drawn_points(400)
    np.testing.assert_array_equal(drawn, drawn_points(400))
    for axis, values in zip(AXES, drawn, strict=True):
        # One point in each four-hundredth of every axis is what makes it a Latin hypercube.
        cells = np.floor((values - axis.low) / (axis.high - axis.low) * 400)
        assert np.array_equal(np.sort(cells), np.arange(400)), axis.name


def test_progress_ends_at_one_and_never_falls():
    told = []
    envelope_study(20, ["R32"], progress=told.append)
    assert told == sorted(told)
    assert told[-1] == pytest.approx(1.0)


def test_what_cannot_be_drawn_is_refused():
    with pytest.raises(ValueError, match="points must be at least 1, got 0"):
        envelope_study(0)
    with pytest.raises(ValueError, match=r"refrigerant must be one of R410A, .* got R11"):
        envelope_study(10, ["R11"])


def test_a_root_on_the_edge_of_flashing_is_found():
    """The liquid before this orifice is within a millionth of flashing: slopes differ on either side."""
    drawn = np.array(
        [
            86.81780205085312,
            81.71692492952873,
            0.3120992599734655,
            3553.113496060775,
            17.452456954109454,
            0.39346196778506815,
            1.0670099194788132,
            0.8730235362110261,
        ]
    )
    point = solve(*situations("R454B", "fixed orifice", drawn[:, None]))
    assert STATES[int(point.state[0])] in ("ok", "flash gas")
    assert point.residual[0] < 1e-6
