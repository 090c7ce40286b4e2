"""What is kept of a finding says the same of the fouling as the finding."""

import json

import pytest

from calibration.costs.case_costs import case_costs
from calibration.costs.fouling_shown import kept_entry, kept_fouling
from calibration.diagnosis.finding import find
from tests.calibration.demo_in_bins import DEMO, baseline


def test_costs_from_what_was_kept_are_those_from_the_finding():
    visit = DEMO.found_visits[-1]
    found = find(DEMO, visit, baseline=baseline())
    kept = kept_fouling(DEMO, json.loads(json.dumps(kept_entry(found))))
    assert (kept.visit, kept.blocked) == (visit, found.blocked)
    whole, brief = (
        case_costs(DEMO, baseline(), draws=4, findings={visit.label: one}) for one in (found, kept)
    )
    assert brief.recommendation == whole.recommendation
    assert brief.season.year_money == whole.season.year_money
    assert brief.season.unit.whole_finding is None
    assert whole.season.unit.whole_finding is found
    assert brief.season.unit.has_readings
    assert brief.season.unit.level == pytest.approx(whole.season.unit.level, abs=0)
