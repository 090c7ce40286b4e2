"""Every page as it is first drawn in a session of its own, once for all tests that look at it."""

import tempfile
from functools import cache
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from dashboard.web.page_list import Question
from dashboard.web.settings import WORKSPACE_VARIABLE
from tests.conftest import HANGING

SCRIPT = Path(__file__).resolve().parents[3] / "dashboard" / "web" / "app.py"


@cache
def drawn(question: Question, demo_open: bool) -> AppTest:
    """The page of a question in an empty workspace, with the demo or nothing open. To be looked at only."""
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patched:
        patched.setenv(WORKSPACE_VARIABLE, folder)
        page = AppTest.from_file(str(SCRIPT), default_timeout=HANGING).run()
        if demo_open:
            page = page.button(key="open_demo").click().run()
        return page.switch_page(question.file).run()
