"""What a command prints, as its tests want it: text, the numbers of `--json`, or the refusal."""

import json
from typing import Any

import pytest

from dashboard.cli import run

Captured = pytest.CaptureFixture[str]


def printed(capsys: Captured, *words: object) -> str:
    """Standard output of a command that must succeed."""
    assert run([str(word) for word in words]) == 0
    return capsys.readouterr().out


def in_json(capsys: Captured, *words: object) -> dict[str, Any]:
    """The numbers of a command, from its `--json`."""
    return json.loads(printed(capsys, *words, "--json"))


def refused(capsys: Captured, *words: object) -> str:
    """Lines of standard error of a command that must refuse, without the last line's end."""
    assert run([str(word) for word in words]) == 2
    done = capsys.readouterr()
    assert done.out == ""
    return done.err.removesuffix("\n")


def refused_in_one_line(capsys: Captured, *words: object) -> str:
    """The same where there is one fault, and so one line."""
    (line,) = refused(capsys, *words).splitlines()
    return line
