"""Drafts on the disk: what was typed comes back to the letter, and what is no draft is left alone."""

import os
from pathlib import Path

import pytest

from calibration.case.file import read_case
from dashboard.web.form.draft import Draft, draft_of, new_draft
from dashboard.web.form.stored_drafts import FOLDER, forget, forget_saved, store, stored

DEMO = Path(__file__).resolve().parents[4] / "cases" / "demo.toml"
NOTES = ("visit", 2, "notes")


def changed_demo(notes: str = "typed") -> Draft:
    draft = draft_of(read_case(DEMO), "demo.toml", "of before")
    draft.put(NOTES, notes, "US")
    draft.put(("visit", 2, "suction_pressure"), "950", "SI")
    return draft


@pytest.mark.parametrize("draft", [changed_demo(), new_draft("SI")], ids=["changed", "new"])
def test_a_draft_comes_back_as_it_was(draft, tmp_path):
    store(tmp_path / "not made yet", draft)
    ((found, _),) = stored(tmp_path / "not made yet", draft.name)
    for name in ("entries", "visits", "base", "name", "version", "key", "origin"):
        assert getattr(found, name) == getattr(draft, name), name
    assert found.checked("US") == draft.checked("US")


def test_the_latest_comes_first_and_those_of_others_stay_out(tmp_path):
    drafts = [changed_demo(str(number)) for number in range(3)]
    for moment, draft in zip((20, 30, 10), drafts, strict=True):
        store(tmp_path, draft)
        os.utime(tmp_path / FOLDER / f"{draft.key}.json", (moment, moment))
    store(tmp_path, new_draft("US"))
    assert [one.draft.entries[NOTES].text for one in stored(tmp_path, "demo.toml")] == ["1", "0", "2"]
    forget(tmp_path, drafts[1].key)
    forget(tmp_path, drafts[1].key)
    assert len(stored(tmp_path, "demo.toml")) == 2


def test_a_saved_draft_goes_with_its_like_copies_alone(tmp_path):
    saved, copy, other = changed_demo(), changed_demo(), changed_demo("another text")
    copy.origin = other.origin = saved.origin
    unrelated = changed_demo()
    for draft in (saved, copy, other, unrelated):
        store(tmp_path, draft)
    forget_saved(tmp_path, saved)
    assert {one.draft.key for one in stored(tmp_path, "demo.toml")} == {other.key, unrelated.key}


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"[]",
        b"{}",
        b"\xff\xfe",
        b"[" * 100_000,
        b'{"form": 2}',
        b'{"form":1,"name":"demo.toml","version":"","origin":"","visits":[],"base":null,'
        b'"entries":[[["visit",7,"notes"],"x","US"]]}',
        b'{"form":1,"name":"demo.toml","version":"","origin":"","visits":[1],"base":null,'
        b'"entries":[[["visit",1,"notes"],7,"US"]]}',
        b'{"form":1,"name":"demo.toml","version":"","origin":"","visits":[1],"base":"unit = 1","entries":[]}',
        b'{"form":1,"name":"demo.toml","version":"","origin":"","visits":[[1]],"base":null,"entries":[]}',
    ],
)
def test_what_is_no_draft_is_not_read_and_stays(content, tmp_path):
    path = tmp_path / FOLDER / f"{'a' * 16}.json"
    path.parent.mkdir()
    path.write_bytes(content)
    draft = changed_demo()
    store(tmp_path, draft)
    assert [one.draft.key for one in stored(tmp_path, "demo.toml")] == [draft.key]
    assert path.read_bytes() == content


def test_a_key_that_leads_elsewhere_is_refused(tmp_path):
    with pytest.raises(ValueError, match="sixteen hexadecimal digits"):
        forget(tmp_path, "../../case")
