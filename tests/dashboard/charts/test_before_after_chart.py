"""Clean and now in one picture: what is drawn is what the comparison says."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.estimate import Estimate
from dashboard.charts.before_after_chart import before_after_chart
from dashboard.charts.draw_svg import svg
from dashboard.results.comparison import clean_and_now


def test_bars_are_the_figures_over_clean(demo, priced):
    rows = clean_and_now(demo.comparison, priced.season, "US")
    chart = before_after_chart(demo.comparison, priced.season, "US")
    clean, changed, unsure = chart.layers
    assert all(changed.texts) and unsure.name == ""
    assert clean.labels == (
        "Power drawn",
        "Head pressure",
        "Electricity for the same cooling",
        "Electricity in a year",
    )
    assert np.all(clean.end == 100.0)
    assert changed.end == pytest.approx([row.share for row in rows])
    assert np.all(unsure.end == unsure.start)
    assert b"<svg" in svg(chart, 180.0, 62.0)


def test_the_same_cooling_needs_what_the_finding_says(demo):
    rows = {row.label: row for row in clean_and_now(demo.comparison, None, "SI")}
    assert "Electricity in a year" not in rows
    loss = demo.comparison.finding.loss
    more = loss.same_cooling_power.value / loss.clean_power.value
    assert rows["Electricity for the same cooling"].share == pytest.approx(100.0 * (1.0 + more))
    # A cooling that takes 1 / (1 - lost EER) of the electricity; the mean of that is not that of the mean.
    assert 1.0 + more == pytest.approx(1.0 / (1.0 - loss.eer_share.value), abs=0.01)
    assert rows["Head pressure"].share > 105.0


def test_a_change_inside_its_range_is_drawn_pale(demo):
    finding = demo.comparison.finding
    small = Estimate(0.01, -0.02, 0.04)
    more = small.times(finding.loss.clean_power.value)
    loss = replace(finding.loss, power_share=small, same_cooling_power=more)
    unclear = replace(demo.comparison, finding=replace(finding, loss=loss))
    _, changed, unsure = before_after_chart(unclear, None, "US").layers
    drawn = dict(zip(changed.labels, changed.end - changed.start, strict=True))
    pale = dict(zip(unsure.labels, unsure.end - unsure.start, strict=True))
    for label in ("Power drawn", "Electricity for the same cooling"):
        assert drawn[label] == 0.0 and pale[label] == pytest.approx(1.0, abs=0.05)
    assert unsure.name == "no clear change"
    written = zip(changed.texts, unsure.texts, strict=True)
    assert all(bool(one) != bool(other) for one, other in written)
