"""A unit of two circuits at the commands: each for itself, and both together."""

import pytest

from calibration.case.file import write_case
from dashboard.results.costs.whole_unit import SHARES
from tests.calibration.demo_in_bins import DEMO
from tests.calibration.two_circuits import two_circuits
from tests.dashboard.command import in_json, printed, refused_in_one_line


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    path = tmp_path_factory.mktemp("circuits") / "two.toml"
    write_case(two_circuits(DEMO), path)
    return str(path)


def test_season_adds_the_circuits_up(both, capsys):
    numbers = in_json(capsys, "season", both, "--draws", "2")
    assert len(numbers["circuits"]) == 2
    for year in ("clean", "today", "coming"):
        for key in ("energy", "money", "carbon"):
            parts = [one["year"][year][key]["value"] for one in numbers["circuits"]]
            assert numbers["year"][year][key]["value"] == pytest.approx(sum(parts), rel=1e-6)
            assert parts[0] == pytest.approx(parts[1], rel=1e-9)
    assert numbers["months"]["today"]["year"]["value"] == pytest.approx(
        sum(one["months"]["today"]["year"]["value"] for one in numbers["circuits"]), abs=0.01
    )
    text = printed(capsys, "season", both, "--draws", "2")
    assert f"{DEMO.unit.name}, circuit 2" in text
    assert "2 circuits together" in text
    assert SHARES in " ".join(text.split())


def test_interval_adds_the_circuits_up(both, capsys):
    numbers = in_json(capsys, "interval", both, "--draws", "2")
    parts = [one["figures"]["never_cost"]["value"] for one in numbers["circuits"]]
    assert numbers["figures"]["never_cost"]["value"] == pytest.approx(sum(parts), rel=1e-6)
    assert numbers["figures"]["cleaning_price"]["value"] == pytest.approx(2.0 * DEMO.cleaning.price)


def test_measure_and_match_add_the_circuits_up(both, capsys):
    numbers = in_json(capsys, "measure", both, "--figures-only")
    last = [one for one in numbers["visits"] if one["coil"] == "as found"]
    for key in ("net_capacity", "total_power"):
        whole = numbers["whole_unit"][key]["value"]
        assert whole == pytest.approx(sum(one["figures"][key]["value"] for one in last), rel=1e-6)
    matched = in_json(capsys, "match", both)
    assert [one["verdict"] for one in matched["matches"]] == ["fault", "fault"]
    lost = [one["loss"]["design"]["capacity_lost"]["value"] for one in matched["matches"]]
    assert matched["whole_unit"]["capacity_lost"]["value"] == pytest.approx(sum(lost), rel=1e-6)


def test_what_takes_one_circuit_alone_says_so(both, capsys):
    refused_in_one_line(capsys, "calibrate", both)
