"""Years of invented units: a very small draw of the second part of `coiltoll study coverage`."""

from functools import cache

import pytest

from calibration.studies.season_coverage import SOURCES, YEAR_FIGURES, season_coverage
from dashboard.results.studies.reliability import season_coverage_json, season_coverage_rows


@cache
def study():
    return season_coverage(1)


def test_every_kind_of_load_has_every_figure_and_a_bill_knows_more_than_nothing():
    found = study()
    assert tuple(found.shares) == SOURCES
    electricity, added = YEAR_FIGURES
    widths = {source: found.widths[source] for source in SOURCES}
    assert all(of[added] > 0.0 and of[electricity] < 1.5 for of in widths.values())
    # Nothing is said of the load; a bill says what was used.
    assert widths["bill of a summer"][electricity] < 0.7 * widths["assumed load"][electricity]
    assert all(share in (0.0, 1.0) for of in found.shares.values() for share in of.values())


def test_rows_and_json_say_the_same():
    rows = season_coverage_rows(study())
    assert len(rows) == len(SOURCES) * len(YEAR_FIGURES)
    assert season_coverage_json(study())["shares"] == study().shares


def test_at_least_one_unit_is_expected():
    with pytest.raises(ValueError, match="units must be at least 1, got 0"):
        season_coverage(0)
