"""What `coiltoll app` does before the pages are served."""

from types import SimpleNamespace

import pytest

from dashboard.cli import run
from dashboard.commands import app
from dashboard.web import server
from dashboard.web.settings import WORKSPACE_VARIABLE
from dashboard.workspace import Workspace


@pytest.fixture
def served(monkeypatch):
    """Workspaces of the pages that would have been served; nothing is."""
    workspaces = []
    monkeypatch.setenv(WORKSPACE_VARIABLE, "")  # set back to what it was after the test
    monkeypatch.setattr(app, "_check_free", lambda *_: None)
    monkeypatch.setattr(app, "_warm_up", lambda: None)
    pages = SimpleNamespace(run=lambda config: workspaces.append(config["server.port"]))
    monkeypatch.setattr(server, "page_app", lambda script, address, pin: pages)
    return workspaces


def test_what_killed_saves_left_is_swept_at_the_start(served, tmp_path):
    left, other = tmp_path / f".unit.toml.coiltoll-{'a' * 16}.tmp", tmp_path / ".unit.toml.swp"
    for path in (left, other):
        path.write_bytes(b"half")
    assert run(["app", "--workspace", str(tmp_path), "--port", "8599"]) == 0
    assert served == [8599]
    assert list(tmp_path.iterdir()) == [other]
    assert Workspace(tmp_path).entries() == []


def test_a_workspace_is_not_made_before_the_first_save(served, tmp_path):
    assert run(["app", "--workspace", str(tmp_path / "units")]) == 0
    assert served == [8501]
    assert list(tmp_path.iterdir()) == []
