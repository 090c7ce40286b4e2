"""What is said of the clean fit: a clean visit under the nameplate is questioned, an honest one is not."""

from dataclasses import replace

import pytest

from calibration.case.records import Case
from calibration.clean_fit.baseline import fit_baseline
from dashboard.results.clean_fit import fit_sentence, fitted_json
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of


@pytest.mark.parametrize(("rated", "asked"), [(1.0, False), (1.33, True)])
def test_a_clean_visit_under_the_nameplate_is_questioned(rated, asked):
    """The made unit meets its nameplate; the same visit of a unit rated a third higher does not."""
    description = replace(DESCRIPTION, rated_capacity=rated * DESCRIPTION.rated_capacity)
    visit = visit_of(true_unit())
    baseline = fit_baseline(description, [visit])
    sentence = fit_sentence(baseline)
    assert ("below the nameplate" in sentence) is asked
    assert sentence.endswith("was the unit clean?") is asked
    written = fitted_json(Case("US", description, (visit,)), baseline, "US")["nameplate"]["rated_capacity"]
    assert written["lies_under"] is asked
    assert (written["visits_alone_over_rated"] < 0.85) is asked
