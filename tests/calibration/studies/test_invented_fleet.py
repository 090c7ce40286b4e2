"""An invented fleet: known truth, a table that is read whole, the same for the same seed."""

import csv
import io

import pytest

from calibration.case.file import parse_case
from calibration.fleet.jobs import fleet_of
from calibration.studies.invented_fleet import invented_fleet, table_of, truth_of


@pytest.fixture(scope="module")
def made():
    return invented_fleet(6, 3)


def test_the_table_is_read_whole_and_says_nothing_of_the_truth(made, tmp_path):
    path = tmp_path / "fleet.csv"
    path.write_text(table_of(made), "utf-8")
    found = fleet_of([path])
    assert not found.left_out
    assert [(job.unit, job.site, job.exposure) for job in found.jobs] == [
        (one.name, one.site, one.exposure) for one in made
    ]
    for job, one in zip(found.jobs, made, strict=True):
        case = parse_case(job.text)
        assert case.cleaning.growth_rate is None
        assert case.visits[1].liquid_pressure == pytest.approx(one.visits[1].liquid_pressure, rel=1e-4)
        assert case.cleaning.last_cleaned == one.visits[0].date


def test_levels_are_rate_times_time(made):
    for one in made:
        days = (one.visits[1].date - one.visits[0].date).days
        assert one.level == pytest.approx(min(one.rate * days / 365, 0.6), rel=1e-6)


def test_the_truth_has_a_row_a_unit(made):
    rows = list(csv.DictReader(io.StringIO(truth_of(made))))
    assert [row["unit"] for row in rows] == [one.name for one in made]


def test_the_same_seed_gives_the_same_fleet(made):
    assert table_of(invented_fleet(6, 3)) == table_of(made)
    assert table_of(invented_fleet(6, 4)) != table_of(made)
