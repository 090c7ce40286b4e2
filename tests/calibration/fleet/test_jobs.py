"""A fleet's jobs: a folder of cases or tables, and keys that change with all that a row depends on."""

from pathlib import Path

import pytest

from calibration.case.errors import CaseError
from calibration.fleet import jobs
from calibration.fleet.jobs import fleet_of
from tests.fuzz.hostile_files import DEMO


@pytest.fixture
def folder(tmp_path):
    home = tmp_path / "cases"
    (home / "Library").mkdir(parents=True)
    (home / "removed").mkdir()
    (home / "a.toml").write_text(DEMO, "utf-8")
    (home / "Library" / "b.toml").write_text(DEMO.replace("[[visit]]", "# another\n[[visit]]", 1), "utf-8")
    (home / "removed" / "gone.toml").write_text(DEMO, "utf-8")
    (home / "broken.toml").write_bytes(b"\xff\xff")
    return home


def test_a_folder_and_its_sites(folder):
    found = fleet_of([folder]).jobs
    assert [(one.site, bool(one.text)) for one in found] == [("Library", True), ("", True), ("", False)]
    assert "is not text in UTF-8" in found[2].problem


def test_a_site_in_the_file_counts_over_its_folder(folder):
    path = folder / "Library" / "b.toml"
    path.write_text(path.read_text().replace("[unit]\n", '[unit]\nsite = "Annex"\n', 1), "utf-8")
    assert fleet_of([folder]).jobs[0].site == "Annex"


def test_the_key_is_that_of_content_day_and_program(folder, monkeypatch):
    keys = [one.key for one in fleet_of([folder]).jobs]
    assert keys == [one.key for one in fleet_of([folder]).jobs]
    assert keys[1] != fleet_of([folder], today="2026-09-01").jobs[1].key
    (folder / "a.toml").write_text(DEMO + "\n# looked at again\n", "utf-8")
    changed = [one.key for one in fleet_of([folder]).jobs]
    assert [a == b for a, b in zip(keys, changed, strict=True)] == [True, False, True]
    monkeypatch.setattr(jobs, "program_digest", lambda: "another version")
    assert not set(changed) & {one.key for one in fleet_of([folder]).jobs}


def test_the_key_changes_with_a_weather_file_beside_the_case(folder):
    text = DEMO.replace('weather = "Greensboro NC"', 'weather = "year.csv"')
    assert text != DEMO
    (folder / "a.toml").write_text(text, "utf-8")
    keys = []
    for content in ("hourly", "hourly, another"):
        (folder / "year.csv").write_text(content, "utf-8")
        jobs._digest_of_file.cache_clear()
        keys.append(fleet_of([folder]).jobs[1].key)
    assert keys[0] != keys[1]


def test_a_table_takes_what_it_lacks_from_a_case(tmp_path):
    like = tmp_path / "like.toml"
    like.write_text(DEMO, "utf-8")
    table = tmp_path / "visits.csv"
    head = "unit,refrigerant,expansion,capacity [tons],outdoor air,return air,return wet bulb\n"
    table.write_text(head + "A,R410A,TXV,3,95,80,67\nB,R999,TXV,3,95,80,67\n", "utf-8")
    good, bad = fleet_of([table], like=like).jobs
    assert 'weather = "Greensboro NC"' in good.text
    assert (bad.text, "R999" in bad.problem) == ("", True)


@pytest.mark.parametrize("name", ["nothing", "notes.docx"])
def test_what_is_neither_folder_nor_table_is_refused(tmp_path, name):
    with pytest.raises(CaseError, match="a folder of cases or a table"):
        fleet_of([Path(tmp_path, name)])


def test_an_empty_folder_is_refused(tmp_path):
    with pytest.raises(CaseError, match="has no case file"):
        fleet_of([tmp_path])
