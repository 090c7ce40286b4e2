"""Tables and JSON on standard output."""

import json

import pytest

from dashboard.commands import terminal
from dashboard.results.figures import Figure


def test_table_holds_every_cell_and_no_markup_is_read(capsys):
    terminal.print_table("Visits", ["", "one [psi]"], [["[bold]name[/bold]", "1.0"], [":smile:", "2.0"]])
    printed = capsys.readouterr().out
    for cell in ("Visits", "one [psi]", "[bold]name[/bold]", ":smile:", "1.0", "2.0"):
        assert cell in printed
    assert "\x1b" not in printed


def test_figures_stand_side_by_side_with_their_intervals(capsys):
    clean = [Figure("superheat", "Superheat", 10.0, "degF", 1, 9.0, 11.0), Figure("eer", "EER", 11.5)]
    dirty = [Figure("superheat", "Superheat", 8.0, "degF", 1)]
    terminal.print_figures("Measured", [("clean", clean), ("as found", dirty)])
    printed = capsys.readouterr().out
    (row,) = [line for line in printed.splitlines() if "Superheat" in line]
    assert row.split() == ["Superheat", "[degF]", "10.0", "9.0", "to", "11.0", "8.0"]
    assert printed.count("90 % range") == 1
    (other,) = [line for line in printed.splitlines() if "EER" in line]
    assert other.split() == ["EER", "11.50"]


def test_a_suspect_figure_stands_beside_the_supported_one_and_its_range(capsys):
    supported = Figure("eer", "EER", 10.4, decimals=1, low=9.3, high=11.6)
    terminal.print_figures(
        "Measured", [("", [Figure("eer", "EER", 31.0, decimals=1, low=30.0, high=32.0, supported=supported)])]
    )
    (row,) = [line for line in capsys.readouterr().out.splitlines() if "EER" in line]
    assert row.split() == ["EER", "31.0", "suspect,", "10.4", "supported", "9.3", "to", "11.6"]


def test_a_narrow_terminal_gets_ranges_under_their_values_and_whole_words(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    long = "Condensing temperature over ambient, as the technician reads it"
    spring = [
        Figure("approach", long, 20.6, "degF", 1, 19.7, 21.6),
        Figure("eer", "EER", 12.75, "", 2, 11.36, 14.14),
    ]
    autumn = [Figure("approach", long, 28.2, "degF", 1, 27.4, 29.1)]
    terminal.print_figures("Measured", [("spring, coil clean", spring), ("late summer, as found", autumn)])
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    (value,) = [place for place, line in enumerate(lines) if "20.6" in line]
    assert "28.2" in lines[value]
    below = next(line for line in lines[value + 1 :] if "19.7" in line)
    assert "19.7 to 21.6" in below and "27.4 to 29.1" in below
    words = {word for line in lines for word in line.split()}
    assert set(f"{long} spring, coil clean late summer, as found".split()) <= words


def test_a_table_too_wide_for_the_terminal_goes_on_below_with_nothing_cut_off(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "60")
    headings = ["reading", *(f"explanation-number-{number}" for number in range(5))]
    rows = [["Suction pressure", *(f"{number}39.0" for number in range(5))], ["Superheat", *"abcde"]]
    terminal.print_table("Expected", headings, rows)
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 60
    words = [word for line in lines for word in line.split()]
    assert {*headings, *(f"{number}39.0" for number in range(5)), *"abcde"} <= set(words)
    assert words.count("Superheat") == words.count("reading") == words.count("Expected") == 3


def test_a_wide_terminal_gets_ranges_beside_their_values(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "160")
    terminal.print_figures("Measured", [("spring", [Figure("eer", "EER", 12.75, "", 2, 11.36, 14.14)])])
    lines = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]
    assert "EER 12.75 11.36 to 14.14" in lines


def test_json_refuses_what_json_cannot_hold(capsys):
    with pytest.raises(ValueError):
        terminal.print_json({"x": float("nan")})
    terminal.print_json({"grüße": 1.5})
    assert json.loads(capsys.readouterr().out) == {"grüße": 1.5}


def test_progress_is_silent_where_there_is_no_terminal(capsys):
    with terminal.progress("working") as share:
        share(0.5)
    assert capsys.readouterr() == ("", "")


def test_sentences_are_printed_as_they_are(capsys):
    terminal.print_lines("one [sentence]", "another")
    assert capsys.readouterr().out == "one [sentence]\nanother\n"


@pytest.mark.parametrize("name", ["No 5\u00a0B", "\U0001f468\u200d\U0001f527", "\u06cc\u200c\u062e"])
def test_joiners_and_spaces_that_do_not_break_are_shown(name):
    assert terminal.harmless(name) == name
    assert terminal.harmless(f"{name}\x1b\u202e") == f"{name}\\x1b\\u202e"
