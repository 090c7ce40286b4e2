"""Many units: how soon the page of a thousand is drawn, by the server's own work."""

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from dashboard.web.page_list import PLAN, UNITS, Question
from dashboard.web.settings import WORKSPACE_VARIABLE
from tests.bench.rows import Row, least_time
from tests.made_results import made_workspace

UNITS_STORED = 1000
SCRIPT = Path(__file__).resolve().parents[2] / "dashboard" / "web" / "app.py"
WANTED = 2.0
"""A page at most [s]."""
REPEATS = 3


def pages() -> Iterator[Row]:
    """All units, at first and again in another order; and the plan of 200."""
    with tempfile.TemporaryDirectory(prefix="coiltoll-") as folder:
        os.environ[WORKSPACE_VARIABLE] = folder
        made_workspace(Path(folder), UNITS_STORED)
        words = f"page of all units, {UNITS_STORED:,} of them"
        yield Row(f"{words}, opened", least_time(lambda: _drawn(UNITS), REPEATS), "s", WANTED)
        yield Row(f"{words}, in another order", _in_another_order(), "s", WANTED)
    with tempfile.TemporaryDirectory(prefix="coiltoll-") as folder:
        os.environ[WORKSPACE_VARIABLE] = folder
        made_workspace(Path(folder), 200)
        yield Row("page of the plan, 200 units in 13 weeks, opened", least_time(lambda: _drawn(PLAN), 1), "s")
    del os.environ[WORKSPACE_VARIABLE]


def _drawn(question: Question) -> object:
    """The page drawn by a server that has kept nothing."""
    import streamlit as st
    from streamlit.testing.v1 import AppTest

    st.cache_data.clear()
    page = AppTest.from_file(str(SCRIPT), default_timeout=600).run().switch_page(question.file).run()
    if page.exception:
        raise RuntimeError(str(page.exception[0].value))
    return page


def _in_another_order() -> float:
    """From the choice of another order to the table in it [s]."""
    page = _drawn(UNITS)
    orders = iter(("due", "verdict", "last visit"))
    return least_time(lambda: page.selectbox(key="fleet_order").set_value(next(orders)).run(), REPEATS)
