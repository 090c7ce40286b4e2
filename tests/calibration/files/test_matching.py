"""Headers mean the keys that people mean by them."""

import pytest

from calibration.case.keys import keys_of
from calibration.files.matching import SURE, column_named, matched, unit_at_end

VISIT = list(keys_of("visit").values())


@pytest.mark.parametrize(
    ("header", "name"),
    [
        ("suction_pressure", "suction_pressure"),
        ("Suct. press. psig", "suction_pressure"),
        ("Suction [psig]", "suction_pressure"),
        ("Suction [°F]", "suction_temperature"),
        ("liq °C", "liquid_temperature"),
        ("Head pressure (bar)", "liquid_pressure"),
        ("OAT", "outdoor_db"),
        ("return air wet bulb", "return_wb"),
        ("sky", None),
        ("", None),
    ],
)
def test_words_in_use(header, name):
    found = matched([(header,)], VISIT)
    assert (found[0].name if found else None) == name


def test_the_likelier_column_has_the_key_and_none_comes_twice():
    found = matched([("outdor air temp",), ("outdoor_db",), ("outdoor air",)], VISIT)
    assert found[1].name == "outdoor_db"
    assert len({key.name for key in found.values()}) == len(found)


def test_the_first_wording_that_is_sure_counts():
    found = matched([("Air dry bulb", "dry bulb"), ("Outdoor air DB", "DB")], VISIT, least=SURE)
    assert {place: key.name for place, key in found.items()} == {1: "outdoor_db"}


def test_units_in_brackets_and_at_the_end():
    key = keys_of("visit")["suction_pressure"]
    assert column_named("low side (bar abs)", key).absolute
    assert column_named("low side kPa", key).scale.label == "kPa"
    assert column_named("low side", key).scale is None
    with pytest.raises(ValueError, match="is expected in the brackets"):
        column_named("low side [°F]", key)
    assert (unit_at_end("suction psig"), unit_at_end("suction")) == ("psig", "")
