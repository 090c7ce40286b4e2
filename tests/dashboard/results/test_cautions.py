"""Every refrigerant that the model knows has its cautions."""

import pytest

from dashboard.results.cautions import GENERAL, cautions
from model.properties.refrigerant_tables import FLUIDS


@pytest.mark.parametrize("name", FLUIDS)
def test_flammable_refrigerants_have_a_caution_of_their_own(name):
    safety_class = FLUIDS[name].safety_class
    told = cautions(name, safety_class)
    assert told[: len(GENERAL)] == GENERAL
    assert any(name in line and safety_class in line for line in told) == (safety_class != "A1")


def test_unknown_class_is_refused():
    with pytest.raises(ValueError, match="got 'B1'"):
        cautions("R717", "B1")
