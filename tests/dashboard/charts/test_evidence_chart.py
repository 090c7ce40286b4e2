"""Charts of the evidence: the bars are the probabilities and differences of the finding."""

import numpy as np
import pytest

from dashboard.charts.evidence_chart import difference_chart, evidence_chart
from tests.dashboard.demo_findings import found


@pytest.mark.parametrize("name", ["as found", "liquid pipe 4 K high", "nothing fits"])
def test_the_bars_are_the_probabilities(name):
    finding = found(name)
    now, before = evidence_chart(finding).layers
    assert now.labels == before.labels
    shown = dict(zip(now.labels, now.end, strict=True))
    if "fouled condenser coil" in shown:
        share = 100 * finding.probability_of_fouling
        assert shown["fouled condenser coil"] == pytest.approx(share, abs=0.06)
    assert list(now.end) == sorted(now.end, reverse=True)
    assert finding.visit.label in evidence_chart(finding).description


@pytest.mark.parametrize("name", ["as found", "supply air at 60 degC", "nothing fits"])
def test_every_reading_has_a_bar_and_a_suspect_one_is_named_so(name):
    finding = found(name)
    (bars,) = difference_chart(finding, "US").layers
    rows = [row for row in finding.rows if not row.derived]
    assert len(bars.labels) == len(rows) == finding.readings
    np.testing.assert_allclose(bars.end, [row.standardised for row in rows])
    suspect = [label for label in bars.labels if label.endswith(" (suspect)")]
    assert suspect == (["Supply air, dry bulb (suspect)"] if name.startswith("supply") else [])
