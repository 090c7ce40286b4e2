"""The study of equal nameplates: every kind of unit is scored, and the command prints the same figures."""

from dataclasses import asdict
from functools import cache

from calibration.studies.nameplates import FIGURES, KINDS, nameplate_study
from tests.dashboard.command import in_json, printed


@cache
def found():
    return nameplate_study(1, (0.9,), seed=4)


def test_every_kind_of_unit_has_its_scores():
    (one,) = found()
    assert {kind: scores["eer"].units for kind, scores in one.scores.items()} == dict(
        zip(KINDS, (1, 2, 1, 1), strict=True)
    )
    for scores in one.scores.values():
        assert tuple(scores) == FIGURES
        for score in scores.values():
            assert score.alone > 0.0 < score.pooled
            assert score.alone_width > 0.0 < score.pooled_width
            assert 0.0 <= score.pooled_inside <= 1.0
    assert (one.share, one.odd) == (0.9, 1)


def test_what_the_others_show_narrows_the_clean_unit_of_a_nameplate_alone():
    score = found()[0].scores["nameplate alone"]["condensing_temperature"]
    assert score.pooled_width < 0.95 * score.alone_width


def test_the_command_prints_the_same_figures(capsys, monkeypatch):
    asked = []

    def study(*arguments):
        asked.append(arguments[:3])
        return found()

    monkeypatch.setattr("calibration.studies.nameplates.nameplate_study", study)
    words = ("study", "nameplates", "--nameplates", "1", "--share", "0.9", "--seed", "4")
    (numbers,) = in_json(capsys, *words)["fleets"]
    assert numbers["scores"] == asdict(found()[0])["scores"]
    score = found()[0].scores["read clean once"]["level"]
    text = printed(capsys, *words)
    assert f"{100 * score.alone:.1f} %" in text
    assert f"{100 * score.pooled:.1f} %" in text
    assert asked == [(1, [0.9], 4)] * 2
