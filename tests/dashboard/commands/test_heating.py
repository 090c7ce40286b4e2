"""`heating`: tables and JSON agree, weather can be typed, and refusals say what is expected."""

from pathlib import Path

import pytest

from tests.dashboard.command import in_json, printed, refused_in_one_line

CASES = Path(__file__).resolve().parents[3] / "cases"
CASE = str(CASES / "heat_pump.toml")


def test_prints_its_json_in_either_system(capsys):
    numbers, table = in_json(capsys, "heating", CASE), printed(capsys, "heating", CASE)
    weather = numbers["weather"]
    assert [round(one["outdoor_db"]["value"], 1) for one in weather] == [47.0, 35.0, 17.0]
    for one in weather:
        for share in one["shares"]:
            assert f"{share['heating_capacity']['value']:,.0f}" in table
    assert numbers["nameplate"]["rated_heating_cop"]["value"] == pytest.approx(3.64)
    assert "AHRI 210/240" in table
    assert "EPA Section 608" in table
    metric = in_json(capsys, "heating", CASE, "--units", "SI")["weather"][0]
    assert metric["outdoor_db"]["unit"] == "degC"
    assert metric["shares"][1]["heating_cop_change"] == weather[0]["shares"][1]["heating_cop_change"]


def test_weather_and_shares_can_be_typed(capsys):
    (one,) = in_json(
        capsys, "heating", CASE, "--outdoor-db", "40", "--outdoor-rh", "95", "--blocked", "0,50"
    )["weather"]
    (dry,) = in_json(
        capsys, "heating", CASE, "--outdoor-db", "40", "--outdoor-rh", "40", "--blocked", "0,50"
    )["weather"]
    assert [share["blocked"] for share in one["shares"]] == [0.0, 50.0]
    assert one["shares"][1]["frost_loss"]["value"] > dry["shares"][1]["frost_loss"]["value"]


@pytest.mark.parametrize(
    ("words", "part"),
    [
        ([str(CASES / "demo.toml")], "rated_heating_capacity are expected of a unit that heats"),
        ([CASE, "--outdoor-db", "90"], "--outdoor-db: is 90 degF; -25 to 70 degF is expected in heating"),
        ([CASE, "--blocked", "99"], "--blocked: is 99 %"),
    ],
)
def test_refuses_with_what_is_expected(words, part, capsys):
    assert part in refused_in_one_line(capsys, "heating", *words)


def test_measure_shows_the_visit_in_heating(capsys):
    (one,) = in_json(capsys, "measure", CASE, "--figures-only")["heating_visits"]
    table = printed(capsys, "measure", CASE, "--figures-only")
    assert f"{one['figures']['heating_capacity']['value']:,.0f}" in table
    assert one["visit"] == "autumn, heating, as found"
    assert "Backup heat must be off" in table


def test_match_weighs_the_visit_in_heating(capsys):
    label = "autumn, heating, as found"
    numbers = in_json(capsys, "match", CASE, "--visit", label)
    (one,) = numbers["heating"]
    assert numbers["matches"] == []
    shares = {key: entry["probability"] for key, entry in one["probabilities"].items()}
    assert sum(shares.values()) == pytest.approx(1.0, abs=1e-4)
    assert max(shares, key=shares.get) == "condenser_blocked"
    assert one["verdict"] in ("no_fault", "fault", "inconclusive", "none_of_these")
    table = printed(capsys, "match", CASE, "--visit", label)
    assert "fouled outdoor coil" in table
    assert one["sentences"][0] in " ".join(table.split())
