"""Visits of a study in a file: what is kept comes back, what belongs to another study is refused."""

import json

import pytest

from dashboard.commands.studies.kept_visits import EVERY, KeptVisits


def kept(path, seed=1):
    return KeptVisits(path, {"study": "causes", "seed": seed}, int, str)


def test_visits_come_back_and_go_on(tmp_path):
    path = tmp_path / "visits.json"
    with kept(path) as first:
        first["a 0"] = 3
    with kept(path) as second:
        assert dict(second) == {"a 0": 3}
        second["a 1"] = 4
        del second["a 0"]
    assert dict(kept(path)) == {"a 1": 4}
    assert json.loads(path.read_text()) == {"study": {"study": "causes", "seed": 1}, "visits": {"a 1": "4"}}


def test_an_interrupted_study_has_kept_what_it_had(tmp_path):
    path = tmp_path / "visits.json"
    with pytest.raises(KeyboardInterrupt), kept(path) as visits:
        visits["a 0"] = 3
        raise KeyboardInterrupt
    assert len(kept(path)) == 1


def test_the_file_is_written_now_and_then(tmp_path):
    path = tmp_path / "visits.json"
    visits = kept(path)
    for number in range(EVERY):
        assert not path.exists()
        visits[f"a {number}"] = number
    assert len(kept(path)) == EVERY


def test_without_a_file_visits_are_kept_in_memory():
    with kept(None) as visits:
        visits["a 0"] = 3
    assert len(visits) == 1


@pytest.mark.parametrize("content", ["", "[]", '{"study": {}}', '{"study": 1, "visits": []}', "[" * 10_000])
def test_another_file_is_refused(tmp_path, content):
    path = tmp_path / "visits.json"
    path.write_text(content)
    with pytest.raises(ValueError, match="holds no visits of a study; a new file is expected"):
        kept(path)


def test_a_file_of_another_study_is_refused(tmp_path):
    path = tmp_path / "visits.json"
    with kept(path, seed=2) as visits:
        visits["a 0"] = 3
    with pytest.raises(ValueError, match=r"'seed': 2\}; .*'seed': 1\} is expected"):
        kept(path)
