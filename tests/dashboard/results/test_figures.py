"""A number is shown once and alike everywhere: unit, digits, interval, JSON."""

import copy
import json
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.case import units
from calibration.estimate import Estimate
from dashboard.results.figures import (
    Figure,
    Struck,
    figure,
    of_estimate,
    of_quantity,
    percent,
    possible_ends,
    probability,
    range_words,
    shown,
    signed,
    to_json,
    with_supported,
)
from dashboard.results.html_text import escape
from dashboard.web.form.fields import in_thousands


def test_gauge_pressure_is_shown_over_the_local_air():
    # 1 MPa absolute at 80 kPa of air is 920 kPa on the gauge
    assert figure("suction_pressure", 1e6, "SI", ambient_pressure=80e3).value == pytest.approx(920.0)
    shown = figure("suction_pressure", 1e6, "US")
    assert shown.value == pytest.approx((1e6 - 101325.0) / 6894.757, rel=1e-6)
    assert (shown.text, shown.unit) == ("130.3", "psi")


def test_interval_is_converted_with_the_value():
    shown = figure("superheat", 5.0, "US", interval=(4.0, 6.5))
    assert (shown.value, shown.low, shown.high) == (9.0, 7.2, 11.7)
    assert shown.interval_text == "7.2 to 11.7"


def test_no_expected_superheat_lies_below_nought():
    assert possible_ends("superheat", (-4.0, 6.5)) == (0.0, 6.5)
    assert possible_ends("subcooling", (-4.0, 6.5)) == (0.0, 6.5)
    assert possible_ends("evaporating_temperature", (-4.0, 6.5)) == (-4.0, 6.5)


def test_missing_number_is_a_dash_and_null():
    missing = figure("superheat", None, "US")
    assert missing.text == "-"
    assert missing.interval_text == ""
    assert to_json([missing]) == {"superheat": {"value": None, "unit": "degF"}}


def test_figures_that_the_others_do_not_support_stand_beside_what_they_do():
    read = [Figure("a", "A", 1.0, "K", 1, 0.5, 1.5), Figure("b", "B", 2.0, "K", 1), Figure("c", "C", 3.0)]
    one, two, three = with_supported(read, [replace(read[0], value=4.0, low=3.5, high=4.5), read[1]])
    assert (one.cell, one.best.interval_text) == ("1.0 suspect, 4.0 supported", "3.5 to 4.5")
    assert (two, three) == (read[1], read[2])
    assert two.cell == two.text and two.best is two
    told = to_json([one, two])
    assert told["a"] == {
        "value": 1.0, "unit": "K", "low": 0.5, "high": 1.5,
        "supported": {"value": 4.0, "unit": "K", "low": 3.5, "high": 4.5},
    }  # fmt: skip
    assert told["b"] == {"value": 2.0, "unit": "K"}


def test_a_struck_number_survives_a_copy():
    both = copy.deepcopy(Struck("1.0", "4.0"))
    assert (both, both.read, both.supported) == ("1.0 suspect, 4.0 supported", "1.0", "4.0")


def test_no_probability_is_quite_0_or_100_percent():
    assert [probability(share) for share in (0.0, 0.004, 0.006, 0.5, 0.994, 0.996, 1.0)] == [
        "under 1 %", "under 1 %", "1 %", "50 %", "99 %", "over 99 %", "over 99 %"
    ]  # fmt: skip


def test_zero_has_no_sign():
    assert Figure("x", "x", -0.0004, decimals=2).text == "0.00"
    assert Figure("x", "x", -0.04, decimals=1).text == "0.0"
    assert Figure("x", "x", -1234.5, decimals=1).text == "-1,234.5"


def test_word_is_shown_as_it_is():
    assert Figure("state", "State", "flooded suction").text == "flooded suction"


def test_key_without_a_quantity_is_refused():
    with pytest.raises(ValueError, match="got 'label'"):
        figure("label", 1.0, "US")
    with pytest.raises(ValueError, match="got 'nonsense'"):
        figure("nonsense", 1.0, "US")


def test_a_span_becomes_a_figure_with_its_ends():
    one = of_estimate("power_added", "Power added", Estimate(221.4, 151.2, 290.8), units.POWER, "US")
    assert (one.text, one.unit, one.interval_text) == ("221", "W", "151 to 291")


@settings(derandomize=True, deadline=None)
@given(
    st.floats(-1e9, 1e9),
    st.sampled_from([units.TEMPERATURE, units.GAUGE_PRESSURE, units.CAPACITY, units.EFFICIENCY]),
    st.sampled_from(units.SYSTEMS),
)
def test_json_rounded_as_shown_gives_the_text(value, quantity, system):
    shown = of_quantity("x", "x", value, quantity, system)
    read_back = json.loads(json.dumps(to_json([shown]), allow_nan=False))["x"]["value"]
    assert Figure("x", "x", read_back, decimals=shown.decimals).text == shown.text


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [(1.26, 1, "+1.3"), (-0.04, 1, "0.0"), (0.04, 1, "0.0"), (-0.06, 1, "-0.1"), (1521.0, 0, "+1,521")],
)
def test_a_difference_has_a_sign_unless_it_is_nought(value, decimals, text):
    assert signed(value, decimals) == text


def test_no_number_that_rounds_to_zero_has_a_sign():
    assert [shown(-0.0), shown(-0.4), shown(-0.6), shown(1232.4), shown(-0.04, 1), shown(None)] == [
        "0",
        "0",
        "-1",
        "1,232",
        "0.0",
        "-",
    ]
    assert [range_words(-1e-13, 1232.0), range_words(None, 1.0), range_words(1.0, None)] == [
        "0 to 1,232",
        "",
        "",
    ]


def test_a_share_is_shown_in_percent():
    assert [percent(0.853), percent(0.853, 1), percent(-0.001)] == ["85 %", "85.3 %", "0 %"]


def test_html_shows_the_text_and_keeps_a_number_with_its_percent():
    assert escape('<b> & "12 %"') == "&lt;b&gt; &amp; &quot;12\u00a0%&quot;"


def test_long_whole_numbers_are_parted_and_nothing_else():
    text = "3000 to 2000000 Btu/h, 101325.0, 0.123456, R410A, 2026-05-14"
    assert in_thousands(text) == "3000 to 2,000,000 Btu/h, 101,325.0, 0.123456, R410A, 2026-05-14"
