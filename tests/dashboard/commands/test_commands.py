"""Commands on the demo case: tables, JSON and files say the same; a wrong word is a sentence."""

import csv
from pathlib import Path

import pytest

from dashboard.cli import run
from tests.dashboard.command import in_json, refused_in_one_line

ROOT = Path(__file__).resolve().parents[3]
DEMO = str(ROOT / "cases" / "demo.toml")


def test_calibrate_prints_the_figures_of_its_json(capsys):
    numbers = in_json(capsys, "calibrate", DEMO)
    assert run(["calibrate", DEMO]) == 0
    table = capsys.readouterr().out
    capacity = numbers["at_rating_conditions"]["net_capacity"]
    assert f"{capacity['value']:,.0f}" in table
    assert capacity["low"] < capacity["value"] < capacity["high"]
    assert len(numbers["residuals"]) == numbers["readings"]
    for residual in numbers["residuals"]:
        assert abs(residual["standard_errors"]) < 4.0


def test_calibrate_without_a_clean_visit_says_so(tmp_path, capsys):
    bare = (
        (ROOT / "cases" / "demo.toml")
        .read_text(encoding="utf-8")
        .replace('coil = "clean"', 'coil = "as found"')
    )
    path = tmp_path / "bare.toml"
    path.write_text(bare, encoding="utf-8")
    with_visit = in_json(capsys, "calibrate", DEMO)["at_rating_conditions"]["net_capacity"]
    without = in_json(capsys, "calibrate", str(path))["at_rating_conditions"]["net_capacity"]
    assert without["high"] - without["low"] > with_visit["high"] - with_visit["low"]
    assert run(["calibrate", str(path)]) == 0
    assert "No clean visit" in capsys.readouterr().out


def test_predict_shows_more_loss_for_more_blockage(capsys):
    levels = in_json(capsys, "predict", DEMO, "--blocked", "0", "--blocked", "30", "--blocked", "60")[
        "levels"
    ]
    assert [level["condenser_blocked"] for level in levels] == [0.0, 0.3, 0.6]
    condensing = [level["figures"]["condensing_temperature"]["value"] for level in levels]
    eer = [level["changes"]["eer_change"]["value"] for level in levels]
    assert condensing == sorted(condensing)
    assert eer == sorted(eer, reverse=True)
    assert eer[0] == pytest.approx(0.0, abs=1e-6)
    for level in levels:
        assert level["figures"]["state"]["value"] == "ok"


def test_predict_takes_typed_weather_in_the_units_shown(capsys):
    american = in_json(capsys, "predict", DEMO, "--blocked", "20", "--outdoor-db", "104", "--units", "US")
    metric = in_json(capsys, "predict", DEMO, "--blocked", "20", "--outdoor-db", "40", "--units", "SI")
    assert american["conditions"]["outdoor_db"] == {"value": 104.0, "unit": "degF"}
    assert metric["conditions"]["outdoor_db"] == {"value": 40.0, "unit": "degC"}
    cop = [one["levels"][0]["figures"]["cop"]["value"] for one in (american, metric)]
    assert cop[0] == pytest.approx(cop[1], rel=1e-8)


def test_predict_adds_other_faults(capsys):
    alone, short = (
        in_json(capsys, "predict", DEMO, "--blocked", "0", *words)["levels"][0]["figures"]
        for words in ([], ["--fault", "charge_change=-0.15"])
    )
    assert short["subcooling"]["value"] < alone["subcooling"]["value"] - 1.0


@pytest.mark.parametrize(
    "words, part",
    [
        (["--blocked", "99"], "0 to 95 %"),
        (["--fault", "dirt=1"], "'dirt' is not a fault"),
        (["--fault", "charge_change"], "charge_change=NUMBER is expected"),
        (["--fault", "charge_change=-5"], "charge_change is -5"),
        (["--visit", "nonesuch"], "no visit 'nonesuch'"),
        (["--outdoor-db", "400"], "outdoor_db is 400 degF"),
        (["--return-wb", "90"], "return_wb"),
        (["--conditions", "x.csv"], "both are expected"),
    ],
)
def test_predict_refuses_with_what_is_expected(words, part, capsys):
    assert part in refused_in_one_line(capsys, "predict", DEMO, *words)


def test_predict_writes_a_table_whose_figures_are_those_of_the_levels(tmp_path, capsys):
    given = tmp_path / "given.csv"
    given.write_text(
        "outdoor_db,return_db,return_wb,condenser_blocked\n95,80,67,0\n95,80,67,0.4\n", encoding="utf-8"
    )
    out = tmp_path / "out.csv"
    assert run(["predict", DEMO, "--conditions", str(given), "-o", str(out)]) == 0
    assert "2 operating points" in capsys.readouterr().out
    with out.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    bare = (ROOT / "cases" / "demo.toml").read_text(encoding="utf-8")
    assert 'units = "US"' in bare
    assert [row["state"] for row in rows] == ["ok", "ok"]
    assert float(rows[1]["liquid_pressure"]) > float(rows[0]["liquid_pressure"])
    assert run(["predict", DEMO, "--conditions", str(given), "-o", str(out), "--header-units"]) == 0
    names, first, *_ = out.read_text(encoding="utf-8").splitlines()
    assert names.startswith("outdoor_db [degF],return_db [degF],return_wb [degF],condenser_blocked,")
    assert "liquid_pressure [psi]" in names and "capacity [Btu/h]" in names and names.endswith(",state")
    assert first.split(",")[4:] == list(rows[0].values())[4:], "the numbers are the same"


def test_compare_names_the_blocked_share_and_what_it_takes(capsys):
    numbers = in_json(capsys, "compare", DEMO)
    (one,) = numbers["comparisons"]
    blocked = one["severity"]["condenser_blocked"]
    assert blocked["low"] <= blocked["value"] <= blocked["high"]
    assert run(["compare", DEMO]) == 0
    table = capsys.readouterr().out
    assert f"{blocked['value']:.0f} %" in table
    assert "EPA Section 608" in table


def test_compare_and_match_say_the_same_level_and_loss(capsys):
    (compared,) = in_json(capsys, "compare", DEMO)["comparisons"]
    (matched,) = in_json(capsys, "match", DEMO)["matches"]
    assert compared["verdict"] == matched["verdict"]
    (face,) = [one for one in matched["explained"] if one["key"] == "condenser_blocked"]
    level = face["severity"]["condenser_blocked"]
    for end in ("value", "low", "high"):
        assert compared["severity"]["condenser_blocked"][end] == pytest.approx(level[end], rel=1e-6)
        sign = {"value": "value", "low": "high", "high": "low"}[end]
        share = matched["loss"]["today"]["eer_share"][sign]
        assert compared["losses"]["eer_change"][end] == pytest.approx(-share, rel=1e-6)


def test_compare_names_suspect_readings_and_shows_what_the_others_support(suspect, capsys):
    (one,) = in_json(capsys, "compare", suspect.case.source)["comparisons"]
    supply = one["suspect_readings"]["supply_db"]
    assert supply["suspect"] and supply["probability"] > 0.9
    assert supply["read"] == pytest.approx(64.0)
    assert supply["low"] < supply["supported"] < supply["high"]
    assert one["readings"]["supply_db"]["measured"] == pytest.approx(64.0)
    capacity = one["figures"]["measured"]["net_capacity"]
    assert capacity["supported"]["value"] > 1.5 * capacity["value"]
    assert -20.0 < one["losses"]["net_capacity_change"]["value"] < 0.0  # of the air side by itself: half
    assert run(["compare", str(suspect.case.source)]) == 0
    table = " ".join(capsys.readouterr().out.split())
    assert f"64.0 suspect, {supply['supported']:.1f} supported" in table
    assert any("is suspect" in sentence for sentence in one["sentences"])


def test_study_without_a_name_shows_its_studies(capsys):
    assert run(["study"]) == 2
    done = capsys.readouterr()
    assert done.out == ""
    assert "laboratory" in done.err
