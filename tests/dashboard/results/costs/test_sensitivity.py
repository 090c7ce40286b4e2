"""What moves the cost, and two cases side by side."""

from dataclasses import replace
from functools import cache

from calibration.costs.season_cost import season_findings
from dashboard.charts.cost_charts import effect_chart
from dashboard.results.costs.season_cost import season_columns, season_json
from dashboard.results.costs.sensitivity import (
    INPUTS,
    SHOWN_INPUTS,
    compared_json,
    compared_tables,
    effect_rows,
    effect_sentence,
    effect_table,
)
from tests.calibration.demo_in_bins import DEMO, baseline


@cache
def findings(price=0.17):
    tariff = replace(DEMO.season.tariff, energy_price=price)
    case = replace(DEMO, season=replace(DEMO.season, tariff=tariff))
    return season_findings(case, baseline(), draws=32)


def test_effects_are_the_same_in_table_sentence_chart_and_json():
    rows, shown = effect_rows(findings()), season_json(findings(), "US")["sensitivity"]
    assert len(rows) == SHOWN_INPUTS and set(shown) == set(INPUTS)
    widths = [abs(float(high.value) - float(low.value)) for _, low, high in rows]
    assert widths == sorted(widths, reverse=True)
    assert effect_table(findings())[2][0] == [rows[0][0], rows[0][1].text, rows[0][2].text]
    assert rows[0][0] in effect_sentence(findings())
    chart = effect_chart(findings())
    assert chart.layers[0].labels == tuple(words for words, _, _ in rows)


def test_too_few_draws_say_nothing():
    few = replace(findings(), effects=())
    assert effect_sentence(few) == "" and effect_rows(few) == [] and effect_chart(few) is None


def test_twice_the_price_is_twice_the_money_and_the_same_electricity():
    pair = ([findings()], [findings(0.34)])
    for title, columns in compared_tables(*pair, ("one", "two"), "US"):
        (first, mine), (second, theirs), (_, differences) = columns
        assert (first, second) == ("one", "two") and title.startswith("A year: ")
        money = {one.key: one for one in differences}["money"]
        assert abs(money.value - float({one.key: one for one in mine}["money"].value)) < 0.1
        assert {one.key: one for one in differences}["energy"].value == 0.0
        assert [one.key for one in mine] == [one.key for one in theirs]


def test_json_has_both_and_the_difference():
    shown = compared_json(compared_tables([findings()], [findings(0.34)], ("one", "two"), "US"))
    assert shown["names"] == ["one", "two"]
    (_, clean), *_ = season_columns(findings(), "US")
    mine = {one.key: one for one in clean}["money"]
    found = shown["clean"]
    assert found["this"]["money"]["value"] == mine.value
    assert found["difference"]["money"]["value"] == (
        found["other"]["money"]["value"] - found["this"]["money"]["value"]
    )
