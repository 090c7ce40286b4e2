"""Comments that somebody wrote in a case file are there after every save, beside what they are about."""

import dataclasses
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.case import comments, file
from calibration.case.comments import with_comments
from calibration.case.file import case_text, parse_case, read_case, with_identifier, write_case
from tests.calibration.sample_case import SAMPLE
from tests.fuzz.hostile_files import DEMO

WRITTEN = """\
# Surveyed by two people.

# Units of the whole file
units = "US"  # as on the gauges

[unit] # from the plate
name = "Hall # 3"
refrigerant = "R410A"
expansion = "TXV"
rated_capacity = 36000 # Btu/h
# the roof is higher than the survey says
altitude = 800
stages = [
    0.67, # low
    1.0,
] # two of them

# Before the cleaning.
[[visit]]
label = 'first "#"'
coil = "as found"
outdoor_db = 95 # in the shade
return_db = 80
# a sling psychrometer
return_wb = 67
# not a speed at all
compressor_speed = 1.0 # full
notes = '''
# no comment
'''

# After the cleaning.
[[visit]] # second
label = "second"
coil = "clean"
outdoor_db = 90
return_db = 80
return_wb = 67

# Nobody's tariff.
[season.tariff]
energy_price = 0.17 # per kWh

# load_file = "load.csv"
"""
EVERY = [
    "# Surveyed by two people.", "# Units of the whole file", "# as on the gauges", "# from the plate",
    "# Btu/h", "# the roof is higher than the survey says", "# low", "# two of them",
    "# After the cleaning.",
    "# in the shade", "# a sling psychrometer", "# not a speed at all", "# Before the cleaning.",
    "# second",
    "# Nobody's tariff.", "# per kWh", '# load_file = "load.csv"',
]  # fmt: skip


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "unit.toml"
    path.write_text(WRITTEN, encoding="utf-8")
    return path


def lines(path):
    return path.read_text(encoding="utf-8").splitlines()


def test_every_comment_is_there_after_a_save_and_after_the_next(path):
    case = read_case(path)
    write_case(case, path)
    once = path.read_text(encoding="utf-8")
    assert [comment for comment in EVERY if comment not in once] == []
    assert read_case(path) == case
    write_case(read_case(path), path)
    assert path.read_text(encoding="utf-8") == once


def test_comments_stand_beside_what_they_are_about(path):
    write_case(read_case(path), path)
    found = lines(path)
    assert found[0] == "# Surveyed by two people."
    assert 'units = "US"  # as on the gauges' in found
    assert "rated_capacity = 36000.0  # Btu/h" in found
    assert found[found.index("# the roof is higher than the survey says") + 1] == "altitude = 800.0"
    assert found[found.index("# Before the cleaning.") + 1 :][:2] == ["# not a speed at all", "[[visit]]"]
    assert found[found.index("# After the cleaning.") + 1] == "[[visit]]  # second"
    assert found[found.index("# Nobody's tariff.") + 1] == "[season.tariff]"
    assert found[-1] == '# load_file = "load.csv"'
    assert 'name = "Hall # 3"' in found


def test_comments_go_with_their_visit(path):
    case = read_case(path)
    first, second = case.visits
    between = dataclasses.replace(first, label="between", notes="")
    write_case(dataclasses.replace(case, visits=(second, between, first)), path)
    found = lines(path)
    assert found[found.index("[[visit]]  # second") - 1] == "# After the cleaning."
    assert found.index("[[visit]]  # second") < found.index("# Before the cleaning.")
    assert found.index('label = "between"') < found.index("# a sling psychrometer")
    assert found[found.index("# Before the cleaning.") - 2].startswith("return_wb")
    assert sum("# in the shade" in line for line in found) == 1
    write_case(dataclasses.replace(case, visits=(second,)), path)
    found = path.read_text(encoding="utf-8")
    assert "# After the cleaning." in found and "# Before the cleaning." not in found


def test_a_visit_with_another_label_keeps_its_comments(path):
    case = read_case(path)
    renamed = dataclasses.replace(case.visits[0], label="renamed")
    write_case(dataclasses.replace(case, visits=(renamed, case.visits[1])), path)
    found = lines(path)
    assert found.index("# Before the cleaning.") < found.index('label = "renamed"')
    assert any(line.endswith("# in the shade") for line in found)


def test_another_unit_does_not_take_them_over(path):
    write_case(read_case(path), path)
    write_case(with_identifier(parse_case(SAMPLE)), path)
    assert "#" not in path.read_text(encoding="utf-8").replace('\\"#\\"', "")


def test_a_new_file_and_one_without_comments(tmp_path):
    write_case(parse_case(WRITTEN), tmp_path / "new.toml")
    assert "# Surveyed" not in (tmp_path / "new.toml").read_text(encoding="utf-8")
    assert with_comments(SAMPLE, SAMPLE) is SAMPLE


def test_the_demo_keeps_its_comments(tmp_path):
    path = tmp_path / "demo.toml"
    path.write_text(DEMO, encoding="utf-8", newline="\r\n")
    case = read_case(path)
    write_case(case, path)
    assert read_case(path) == case
    for line in DEMO.splitlines():
        assert "#" not in line or line[line.index("#") :] in path.read_text(encoding="utf-8")


def test_more_than_a_file_may_hold_is_written_without(path, monkeypatch):
    case = read_case(path)
    write_case(case, path)
    monkeypatch.setattr(file, "MOST_LINES", len(lines(path)))
    write_case(case, path)
    assert "# Surveyed" in path.read_text(encoding="utf-8")
    former = path.read_text(encoding="utf-8")
    monkeypatch.setattr(file, "MOST_LINES", len(lines(path)) - 1)
    monkeypatch.setattr(file, "_former_text", lambda *_: former)
    write_case(case, path)
    assert "# Surveyed" not in path.read_text(encoding="utf-8")
    assert read_case(path) == case


def test_where_the_text_would_say_something_else_it_is_taken_as_it_is(monkeypatch):
    new = case_text(parse_case(WRITTEN))
    monkeypatch.setattr(comments, "_joined", lambda new, former: new.replace("95.0", "96.0"))
    assert with_comments(new, WRITTEN) is new
    monkeypatch.setattr(comments, "_joined", lambda new, former: "no TOML")
    assert with_comments(new, WRITTEN) is new


@pytest.mark.parametrize(
    ("former", "comment"),
    [
        ('unit = {name = "x"} # inline', "# inline"),
        ('unit.name = "x" # dotted', "# dotted"),
        ('["unit"]\n"name" = "x" # in quotes', "# in quotes"),
        ("a = '''\n# no\n''''' # after three quotes\n[unit]\nname = 'x'", None),
        ('[unit]\nname = """a"" # no""" # yes', "# yes"),
        ('[unit]\nname = "\\\\" # after a stroke', "# after a stroke"),
        ("visit = 3 # no list\n[unit]\nname = 'x' # still", "# still"),
        ("# alone", "# alone"),
    ],
)
def test_every_way_of_writing_is_understood(former, comment):
    new = '[unit]\nname = "y"\n'
    text = with_comments(new, former)
    assert tomllib.loads(text) == tomllib.loads(new)
    assert "# no" not in text
    assert comment is None or comment in text


@settings(derandomize=True, deadline=None, max_examples=60)
@given(st.data())
def test_any_comment_at_any_line_survives_two_saves(data):
    """Between any two lines and at the end of any line that is no part of a longer text."""
    text = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=12)
    written = SAMPLE.rstrip("\n").split("\n")
    wanted = []
    for place in sorted(data.draw(st.sets(st.integers(0, len(written)), max_size=6)), reverse=True):
        comment = f"# {place} {data.draw(text)}".rstrip()
        wanted.append(comment)
        if place and written[place - 1] and data.draw(st.booleans()):
            written[place - 1] += f" {comment}"
        else:
            written.insert(place, comment)
    former, new = "\n".join(written), case_text(parse_case(SAMPLE))
    once = with_comments(new, former)
    assert tomllib.loads(once) == tomllib.loads(new)
    assert all(comment in once for comment in wanted)
    assert with_comments(new, once) == once
