"""`study faults` on one visit: tables, numbers of `--json` and the picture say the same."""

from calibration.diagnosis.hypotheses import NO_FAULT, NONE_OF_THESE, TREATMENTS
from dashboard.results.studies.fault_study import SHORT, short_label
from tests.dashboard.command import in_json, printed, refused_in_one_line


def test_the_study_of_faults_prints_its_json_and_draws_its_chart(tmp_path, capsys):
    picture = tmp_path / "chart.svg"
    words = ("study", "causes", "--visits", "1", "--costly", "1", "--seed", "4")
    words = (*words, "--full-only", "--keep", tmp_path / "visits.json")
    table = printed(capsys, *words, "-o", picture)
    told = in_json(capsys, *words)
    assert told["visits"] == 1
    assert told["seed"] == 4
    for name, one in told["readings"].items():
        assert name in table
        assert f"{one['brier']:.3f}" in table
        assert f"{one['calibration']['error']:.3f}" in table
        assert sum(row["count"] for row in one["calibration"]["bins"]) == 1
        assert one["right_first"]["of"] == one["pairs_right"]["of"] == 1
        assert len(one["confusion"]) == len(one["labels"])
    assert "Calibration of the probabilities" in table
    assert b"<svg" in picture.read_bytes()


def test_every_explanation_has_a_short_heading():
    assert set(SHORT) == {*TREATMENTS.values(), NO_FAULT, NONE_OF_THESE}
    assert short_label("clean_condenser+recover_charge") == "coil + over"


def test_another_picture_is_refused_before_an_hour_is_spent(capsys):
    assert ".svg is expected" in refused_in_one_line(capsys, "study", "causes", "-o", "chart.png")
