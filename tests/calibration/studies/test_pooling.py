"""Pooling brings nearer to the truth: usual units, units never read, and odd ones are not worse off."""

from calibration.studies.pooling import pooling_study
from tests.dashboard.command import in_json, printed


def test_pooled_rates_are_nearer_to_the_truth():
    found = pooling_study()
    assert found.pooled < 0.9 * found.published < 0.9 * found.own
    assert found.new_pooled < 0.8 * found.new_published
    assert found.odd_pooled < found.odd_published + 0.1
    assert found.odd_read_pooled <= 0.55
    assert found.inside > 0.85
    assert found.best < found.pooled  # nobody can do better over all usual units
    assert found.faint_pooled < found.faint_best


def test_the_command_prints_the_same_figures(capsys):
    words = ("study", "pooling", "--fleets", "1", "--units", "20")
    numbers = in_json(capsys, *words)
    assert f"{numbers['pooled']:.2f}" in printed(capsys, *words)
