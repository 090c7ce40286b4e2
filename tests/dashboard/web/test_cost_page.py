"""The page of money and dates without a browser: its numbers are those of the command line."""

import re
from dataclasses import replace
from html import unescape

import pytest
from streamlit.testing.v1 import AppTest

from dashboard.results.costs import cleaning_advice, season_cost, season_ground
from dashboard.web.cost_page import AS_IT_GROWS
from tests.conftest import HANGING


def body() -> None:
    from pathlib import Path

    import dashboard
    from calibration.case.file import read_case
    from dashboard.web.cost_page import show_costs

    path = Path(dashboard.__file__).parent.parent / "cases" / "demo.toml"
    show_costs(read_case(path), "US")


@pytest.fixture
def draw(priced, monkeypatch):
    """The page with given findings, the demo's by default."""

    def drawn(found=priced) -> AppTest:
        monkeypatch.setattr("dashboard.web.cached.costs", lambda case, today=None: found)
        page = AppTest.from_function(body, default_timeout=HANGING).run()
        assert not page.exception
        return page

    return drawn


def texts(page: AppTest) -> str:
    raw = " ".join(str(element.proto.body) for element in page.get("html"))
    written = [element.value for kind in (page.markdown, page.caption) for element in kind]
    plain = unescape(re.sub(r"<[^>]+>", " ", raw)) + " ".join(written).replace("\\", "")
    return re.sub(r"\s+", " ", plain)


def test_the_page_says_and_shows_what_the_commands_print(draw, priced):
    told = texts(draw())
    plan = cleaning_advice.interval_json(priced.interval, "US")
    for sentence in (plan["headline"], *plan["reasons"], plan["measuring"], plan["watch"]):
        assert sentence in told
    for sentence in (
        *season_cost.season_sentences(priced.season, "US"),
        *season_ground.ground_sentences(priced.season, "US"),
    ):
        assert sentence in told
    for _, figures in (
        *season_cost.season_columns(priced.season, "US"),
        *season_cost.month_columns(priced.season),
        *season_cost.worst_columns(priced.season, "US"),
        ("", cleaning_advice.interval_figures(priced.interval)),
    ):
        for one in figures:
            assert one.text in told and one.interval_text in told, one.key


def test_the_map_can_be_drawn_as_fouling_grows(draw, priced):
    page = draw()
    first = str(page.get("plotly_chart")[3].proto)
    page.segmented_control(key="cost_map_which").set_value(AS_IT_GROWS).run()
    assert not page.exception
    assert str(page.get("plotly_chart")[3].proto) != first


def test_bins_ask_for_an_hourly_weather_file(draw, priced):
    season = replace(priced.season, extra_today=None, extra_coming=None)
    assert "The hourly map needs an hourly weather file" in texts(draw(replace(priced, season=season)))


def test_without_a_price_the_toll_is_shown_and_the_rest_is_missing(draw, priced):
    page = draw(replace(priced, interval=None, recommendation=None))
    told = texts(page)
    assert season_cost.NO_PRICE in told
    assert "When to clean" not in [one.value for one in page.subheader]
    assert told.count("Without cleaning, fouling grows") == 1, "each sentence once"


def test_where_the_readings_point_elsewhere_the_page_says_so_first(draw, gassy):
    page = draw(gassy.costs)
    told = texts(page)
    headline = cleaning_advice.advice(gassy.costs.interval).headline
    assert headline.startswith("Cleaning is not the matter: the readings point to non-condensables")
    assert told.index(headline) == told.index("Cleaning is not the matter")
    assert told.index(headline) < told.index("If it were fouling: Cost of fouling in a year")
    assert [one.value for one in page.subheader][:2] == [
        "If it were fouling: when to clean",
        "If it were fouling: cost in a year",
    ]
    for clean in ("Clean it now", "Not yet", "Whatever the date", "Clean when it reaches"):
        assert clean not in told


def test_what_cannot_be_worked_out_is_a_sentence(monkeypatch):
    def refuse(case, today=None):
        raise ValueError("weather file nowhere.epw does not exist")

    monkeypatch.setattr("dashboard.web.cached.costs", refuse)
    page = AppTest.from_function(body, default_timeout=HANGING).run()
    assert not page.exception
    assert "weather file nowhere.epw does not exist" in texts(page)
