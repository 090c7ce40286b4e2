"""A fit that was kept gives the same unit and the same costs, to the last digit."""

import json

import numpy as np

from calibration.clean_fit.kept_fit import fit_entry, kept_fit
from calibration.costs.case_costs import case_costs
from calibration.diagnosis.finding import find
from tests.calibration.demo_in_bins import DEMO, baseline


def test_the_same_unit_without_a_fit(monkeypatch):
    whole = baseline()
    monkeypatch.setattr("calibration.clean_fit.baseline.fit_baseline", None)
    kept = kept_fit(DEMO, json.loads(json.dumps(fit_entry(whole))))
    assert kept.unit == whole.unit
    assert kept.generic == whole.generic
    np.testing.assert_array_equal(kept.values, whole.values)
    np.testing.assert_array_equal(kept.covariance, whole.covariance)


def test_the_same_costs():
    visit = DEMO.found_visits[-1]
    found = {visit.label: find(DEMO, visit, baseline=baseline())}
    one, other = (
        case_costs(DEMO, fit, draws=4, findings=found)
        for fit in (baseline(), kept_fit(DEMO, fit_entry(baseline())))
    )
    assert other.recommendation == one.recommendation
    assert other.season.year_money == one.season.year_money
