"""Pages of a heat pump: both seasons are shown, and a visit in heating is no obstacle."""

import shutil
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from dashboard.web.page_list import ANSWERS
from dashboard.web.settings import WORKSPACE_VARIABLE
from tests.dashboard.web.test_app import SCRIPT, texts

HEAT_PUMP = Path(__file__).parents[3] / "cases" / "heat_pump.toml"
SHOWN = {
    "measured": ("Measured performance in heating", "Air temperature rise, return to supply"),
    "match": ("Fouled condenser coil", "autumn, heating, as found, in heating", "fouled outdoor coil"),
    "season": ("A winter, while the unit heats",),
}


@pytest.mark.parametrize("address", SHOWN)
def test_page_of_a_heat_pump(address, tmp_path, monkeypatch, few_draws):
    monkeypatch.setenv(WORKSPACE_VARIABLE, str(tmp_path))
    shutil.copy(HEAT_PUMP, tmp_path / "mill.toml")
    app = AppTest.from_file(str(SCRIPT), default_timeout=120)
    app.query_params["unit"] = "mill.toml"
    (question,) = (one for one in ANSWERS if one.address == address)
    page = app.run().switch_page(question.file).run()
    assert not page.exception and not page.error
    headings = " ".join(one.value for one in page.subheader)
    assert all(words in texts(page) + headings for words in SHOWN[address])
