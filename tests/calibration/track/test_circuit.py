"""A log of one circuit of several: which case it belongs to, and its share of what all have in common."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.track.circuit import circuit_followed, stretches_of_circuit
from tests.calibration.two_circuits import two_circuits
from tests.made_tracks import demo, made_stretches


def test_a_circuit_is_named_where_there_are_several():
    case = demo()[0]
    both = two_circuits(case)
    assert circuit_followed(case, None) == circuit_followed(case, 1) == case
    second = circuit_followed(both, 2)
    assert second.unit.rated_capacity == pytest.approx(case.unit.rated_capacity)
    assert [visit.label for visit in second.clean_visits] == [f"{case.clean_visits[0].label} 2"]
    for wrong, words in ((None, "is missing; 1 to 2"), (3, "is 3; 1 to 2 is"), (0, "is 0; 1 to 2 is")):
        with pytest.raises(ValueError, match=words):
            circuit_followed(both, wrong)
    with pytest.raises(ValueError, match="circuit: is 2; 1 or none is expected"):
        circuit_followed(case, 2)


def test_a_circuit_has_its_share_of_the_air():
    found = made_stretches(np.full(2, 0.1))
    air = {"indoor_airflow": np.full(len(found), 0.8)}
    found = replace(found, values=found.values | air, scatter=found.scatter | air)
    halved = stretches_of_circuit(found, 2)
    assert halved.values["indoor_airflow"] == pytest.approx(0.4)
    assert halved.scatter["indoor_airflow"] == pytest.approx(0.4)
    assert np.array_equal(halved.values["liquid_pressure"], found.values["liquid_pressure"])
    assert stretches_of_circuit(found, 1) is found
