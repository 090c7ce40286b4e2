"""A visit beside the clean unit: the few figures to see first agree with the finding and with each other."""

import pytest

from dashboard.results.comparison import TILES, now_and_clean


@pytest.mark.parametrize("system", ["US", "SI"])
def test_change_of_capacity_power_and_eer_is_the_loss_of_the_finding(demo, system):
    shown = {one.now.key: one for one in now_and_clean(demo.comparison, system)}
    assert list(shown) == list(TILES)
    loss = demo.comparison.finding.loss
    for key, lost in (("eer", -loss.eer_share.value), ("total_power", loss.power_share.value)):
        assert float(shown[key].change.removesuffix(" %")) == pytest.approx(100.0 * lost, abs=0.051)
        assert " to " in shown[key].change_range


def test_other_changes_are_the_difference_of_what_is_shown(demo):
    for one in now_and_clean(demo.comparison, "US"):
        if one.now.key in ("superheat", "subcooling", "approach"):
            difference = float(one.now.best.text) - float(one.clean.text)
            assert float(one.change) == pytest.approx(difference, abs=1e-9)
            assert one.change_range == ""


def test_a_fouled_condenser_shows_in_the_condensing_temperature(demo):
    shown = {one.now.key: one for one in now_and_clean(demo.comparison, "US")}
    assert float(shown["approach"].change) > 4.0
    assert float(shown["eer"].change.removesuffix(" %")) < -5.0
