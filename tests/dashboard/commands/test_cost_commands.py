"""`season`, `interval` and `study policies`: tables, sentences and JSON agree; a wrong word is a sentence."""

import json
import re
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from calibration.costs.season_case import HEATING_LEFT_OUT
from calibration.studies import policies
from dashboard.cli import run
from dashboard.results.costs import cleaning_advice, season_cost
from tests.dashboard.command import in_json, printed, refused_in_one_line
from tests.dashboard.high_head import READ, write_case

DEMO = str(Path(__file__).resolve().parents[3] / "cases" / "demo.toml")


def test_season_from_few_draws_has_the_most_likely_figures_of_any(priced, capsys):
    numbers = in_json(capsys, "season", DEMO, "--draws", "2")
    many = season_cost.season_json(priced.season, "US")
    for name in ("clean", "today", "coming"):
        for key in ("energy", "money", "run_hours"):
            assert numbers["year"][name][key]["value"] == pytest.approx(
                many["year"][name][key]["value"], rel=1e-9
            )
    assert numbers["months"] == many["months"]
    assert numbers["unit"] == "Millbrook Street reading room"


def test_season_prints_its_json_in_either_system(priced, monkeypatch, capsys):
    monkeypatch.setattr("calibration.costs.season_cost.season_findings", lambda *arguments: priced.season)
    numbers, table = in_json(capsys, "season", DEMO), printed(capsys, "season", DEMO)
    for name in ("today", "coming"):
        money = numbers["year"][name]["money"]
        assert f"{money['low']:,.0f} to {money['high']:,.0f}" in table
        assert f"{numbers['months'][name]['year']['value']:,.2f}" in table
    words = " ".join(table.split())
    for sentence in (*numbers["sentences"], *numbers["ground"]):
        assert " ".join(sentence.split()) in words
    assert "EPA Section 608" in table
    metric = in_json(capsys, "season", DEMO, "--units", "SI")
    assert metric["hardest"]["coming"]["trip_temperature"]["unit"] == "degC"
    assert metric["year"] == numbers["year"]


def test_season_grows_on_until_the_day_that_is_given(capsys):
    later = in_json(capsys, "season", DEMO, "--draws", "2", "--today", "2027-07-01")
    assert later["today"] == "2027-07-01"
    assert later["condenser_blocked"]["value"] == pytest.approx(80.0, abs=5.0)


def test_interval_prints_its_json(priced, monkeypatch, capsys):
    monkeypatch.setattr(
        "calibration.costs.cleaning_interval.interval_findings", lambda *arguments: priced.interval
    )
    numbers, table = in_json(capsys, "interval", DEMO), printed(capsys, "interval", DEMO)
    words = " ".join(table.split())
    for sentence in (numbers["headline"], *numbers["reasons"], numbers["measuring"], numbers["watch"]):
        assert " ".join(sentence.split()) in words
    never = numbers["figures"]["never_cost"]
    assert f"{never['value']:,.0f}" in table and f"{never['low']:,.0f} to {never['high']:,.0f}" in table
    for rule in cleaning_advice.RULES:
        assert rule in numbers["rules"]
    assert "NFPA 70E" in table


@pytest.mark.parametrize("fault", list(READ))
def test_a_high_head_with_much_subcooling_is_not_a_cleaning_matter(fault, tmp_path, capsys):
    path = write_case(tmp_path, fault)
    numbers = in_json(capsys, "interval", path, "--draws", "2")
    assert numbers["advice"] == "not_a_cleaning_matter"
    assert numbers["verdict"] == "fault"
    assert numbers["probability_of_fouling"] < 0.2
    assert numbers["date"] is None and numbers["dates"] == []
    assert fault.replace("_", "-") in numbers["headline"]
    assert "Clean it now" not in json.dumps(numbers)


def test_the_tables_of_that_unit_begin_with_what_the_readings_point_to(gassy, monkeypatch, capsys):
    monkeypatch.setattr(
        "calibration.costs.cleaning_interval.interval_findings", lambda *arguments: gassy.costs.interval
    )
    monkeypatch.setattr(
        "calibration.costs.season_cost.season_findings", lambda *arguments: gassy.costs.season
    )
    path = gassy.case.source
    for command, figures in (("interval", "Interval of least cost"), ("season", "Electricity [kWh]")):
        table = printed(capsys, command, path)
        headline = table.index("Cleaning is not the matter: the readings point to non-condensables")
        assert headline < table.index(figures)
        assert "if it were fouling" in table.lower()
        for clean in ("Clean it now", "Not yet", "Whatever the date", "Clean when it reaches"):
            assert clean not in table
    numbers = in_json(capsys, "season", path)
    assert (numbers["verdict"], numbers["probability_of_fouling"] < 0.2) == ("fault", True)


def test_without_a_visit_as_found_no_verdict_is_given(tmp_path, capsys):
    text = Path(DEMO).read_text(encoding="utf-8")
    start, end = text.rindex("[[visit]]"), text.index("[instruments]")
    path = tmp_path / "clean.toml"
    path.write_text(text[:start] + text[end:], encoding="utf-8")
    numbers = in_json(capsys, "interval", path, "--draws", "2", "--today", "2026-07-01")
    assert numbers["verdict"] is None and numbers["probability_of_fouling"] is None
    assert numbers["advice"] in ("now", "later", "measure_first", "leave")


def test_interval_of_fewer_years_plans_fewer_cleanings(priced, capsys):
    numbers = in_json(capsys, "interval", DEMO, "--draws", "2", "--years", "3")
    assert 1 <= len(numbers["dates"]) < len(priced.interval.policies.best.dates)
    assert numbers["figures"]["interval"]["value"] == priced.interval.costs.advised_interval[0]


def test_interval_without_a_price_is_refused(tmp_path, capsys):
    bare = Path(DEMO).read_text(encoding="utf-8").replace("price = 165\n", "")
    path = tmp_path / "bare.toml"
    path.write_text(bare, encoding="utf-8")
    assert "cleaning.price is needed" in refused_in_one_line(capsys, "interval", str(path))


@pytest.mark.parametrize(
    "words, part",
    [
        (["season", DEMO, "--draws", "1"], "--draws"),
        (["season", DEMO, "--today", "soon"], "--today"),
        (["interval", DEMO, "--years", "0"], "--years"),
    ],
)
def test_a_wrong_word_is_refused(words, part, capsys):
    assert part in refused_in_one_line(capsys, *words)


def test_policies_shows_each_rule_beside_the_published_ones(monkeypatch, capsys):
    monkeypatch.setattr(policies, "policy_study", partial(policies.policy_study, shares=(0.3,)))
    numbers = in_json(capsys, "study", "policies")
    assert numbers["never_beaten"]
    assert numbers["published_most"] == {"every year": 0.117, "when comfort is lost": 0.042}
    assert numbers["over_best"]["best dates"] == [0.0]
    table = printed(capsys, "study", "policies", DEMO)
    assert f"{100 * numbers['over_best']['every year'][0]:.1f}" in table
    assert "11.7" in table and "No rule costs less" in table


@pytest.mark.usefixtures("few_draws")
def test_electricity_for_nothing_divides_by_nothing(tmp_path, capsys):
    text = Path(DEMO).read_text(encoding="utf-8").replace("energy_price = 0.17", "energy_price = 0")
    (tmp_path / "free.toml").write_text(text, encoding="utf-8")
    numbers = in_json(capsys, "interval", tmp_path / "free.toml", "--draws", 5)
    assert numbers["rules"]["never"]["cost"]["value"] == 0.0
    assert "they cost nothing" in printed(capsys, "interval", tmp_path / "free.toml", "--draws", 5)
    assert run(["report", str(tmp_path / "free.toml"), "-o", str(tmp_path / "free.html")]) == 0


def test_interval_warns_on_screen_of_a_heat_pump(priced, monkeypatch, capsys):
    inputs = replace(priced.interval.inputs, warnings=(HEATING_LEFT_OUT,))
    found = replace(priced.interval, inputs=inputs)
    monkeypatch.setattr("calibration.costs.cleaning_interval.interval_findings", lambda *arguments: found)
    assert HEATING_LEFT_OUT in " ".join(printed(capsys, "interval", DEMO).split())


def test_season_writes_hours_and_months(tmp_path, capsys):
    hours, months = tmp_path / "hours.parquet", tmp_path / "months.csv"
    words = ["season", str(DEMO), "--draws", "4", "-o", str(hours), "--months", str(months), "--json"]
    assert run(words) == 0
    assert json.loads(capsys.readouterr().out)["year"]["clean"]["energy"]["value"] > 0.0
    assert hours.stat().st_size > 50_000
    assert len(months.read_text("utf-8").splitlines()) == 13


def test_a_year_of_bins_has_no_hours_and_nothing_is_written(tmp_path, capsys):
    case = tmp_path / "bins.toml"
    text = Path(DEMO).read_text("utf-8")
    case.write_text(re.sub(r"(?m)^weather = .*$", 'weather = "bins"', text), "utf-8")
    months = tmp_path / "months.csv"
    words = ["season", str(case), "--draws", "4", "-o", str(tmp_path / "hours.csv"), "--months", str(months)]
    assert run(words) == 2
    assert "temperature bins have no hours" in capsys.readouterr().err
    assert not months.exists()


def with_tariff(tmp_path, old, new):
    """The demo with a line of its tariff changed."""
    text = Path(DEMO).read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "other.toml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    return path


def test_season_against_another_case_shows_both_and_their_difference(tmp_path, capsys):
    other = with_tariff(tmp_path, "energy_price = 0.17", "energy_price = 0.34")
    shown = in_json(capsys, "season", DEMO, "--draws", "4", "--against", other)
    clean = shown["against"]["clean"]
    assert shown["against"]["names"] == ["demo", "other"]
    assert clean["this"]["money"]["value"] == shown["year"]["clean"]["money"]["value"]
    assert clean["difference"]["money"]["value"] == pytest.approx(clean["this"]["money"]["value"], rel=1e-3)
    table = printed(capsys, "season", DEMO, "--draws", "4", "--against", other)
    assert "A year: the clean unit" in table and "difference" in table


def test_season_against_a_case_in_another_currency_is_refused(tmp_path, capsys):
    other = with_tariff(tmp_path, 'currency = "USD"', 'currency = "EUR"')
    assert run(["season", str(DEMO), "--against", str(other)]) == 2
    assert "--against: prices are in EUR there and in USD here; one is expected" in capsys.readouterr().err
