"""What is said of suspect readings is the same in match, compare, season, interval and report."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from calibration.case.file import write_case
from calibration.diagnosis.comparison import compare_visit
from dashboard.report.comparison_report import comparison_report
from dashboard.results import comparison as compared
from dashboard.results import match as matched
from dashboard.results.costs import cleaning_advice, season_cost
from dashboard.results.suspect_readings import brief_suspects
from tests.dashboard.command import in_json
from tests.dashboard.demo_findings import demo_baseline, demo_case, found

RESTS = "Costs and dates rest on the other readings."
SAID = {
    "as found": "",
    "liquid pipe 3.5 K high": "Possibly wrong: liquid pipe (",
    "liquid pipe 4 K high": f"Suspect reading: liquid pipe. {RESTS}",
    "airflow 20 % low": f"Suspect reading: indoor airflow at the meter. {RESTS}",
    "supply air at 60 degC": f"Suspect reading: supply air, dry bulb. {RESTS}",
    "no superheat": f"Suspect reading: suction pipe. {RESTS}",
    "supply and suction pipe wrong": f"Suspect readings: supply air, dry bulb and suction pipe. {RESTS}",
}
"""Visits by what was changed of them, and what season and interval say of their readings."""


def costs_with(priced, finding) -> SimpleNamespace:
    """Season and interval of the demo, resting on another finding."""
    season = replace(priced.season, unit=replace(priced.season.unit, finding=finding))
    return SimpleNamespace(
        season=season, interval=replace(priced.interval, unit=replace(priced.interval.unit, finding=finding))
    )


@pytest.mark.parametrize("name", SAID)
def test_costs_and_dates_name_the_readings_that_may_be_wrong(priced, name):
    finding, said = found(name), SAID[name]
    costs = costs_with(priced, finding)
    season = season_cost.season_json(costs.season, "US")
    interval = cleaning_advice.interval_json(costs.interval, "US")
    told = [one for one in season["sentences"] if "ossibly wrong" in one or "uspect reading" in one]
    assert told == interval["readings"]
    assert len(told) == (1 if said else 0) and all(one.startswith(said) for one in told)
    assert all(one.startswith(brief_suspects(finding)) for one in told)
    match = matched.match_json(finding, "US", "USD")
    assert season["suspect_readings"] == interval["suspect_readings"] == match["suspect_readings"]
    assert season["verdict"] == interval["verdict"] == match["verdict"]


@pytest.mark.parametrize("name", SAID)
def test_the_first_page_of_the_report_names_them_too(name):
    finding, case = found(name), demo_case()
    comparison = compare_visit(case, finding.visit, demo_baseline(), finding)
    first = comparison_report(case, demo_baseline(), comparison, "US").sections[0].blocks[0].text
    assert (brief_suspects(finding) in first) == bool(SAID[name])
    for sentence in compared.sentences(comparison, "US"):
        if "is suspect (" in sentence or "may be wrong (" in sentence:
            assert any(word in first for word in ("Suspect reading", "Possibly wrong"))


def test_gas_in_the_circuit_leaves_all_readings_standing(gassy):
    told = cleaning_advice.interval_json(gassy.costs.interval, "US")
    assert told["suspect_readings"] == {} and told["readings"] == []
    assert told["headline"].startswith("Cleaning is not the matter: the readings point to non-condensables")
    assert brief_suspects(gassy.comparison.finding) == "All readings are consistent."


def test_the_commands_say_so(tmp_path, capsys):
    case, finding = demo_case(), found("supply and suction pipe wrong")
    path = tmp_path / "warm.toml"
    write_case(replace(case, visits=(*case.clean_visits, finding.visit), source=None), path)
    (match,) = in_json(capsys, "match", path)["matches"]
    season, interval = (in_json(capsys, name, path, "--draws", "2") for name in ("season", "interval"))
    for one in (season, interval):
        assert one["suspect_readings"] == match["suspect_readings"]
        assert (one["verdict"], one["probability_of_fouling"]) == ("fault", match["probability_of_fouling"])
    assert interval["readings"] == [SAID["supply and suction pipe wrong"]]
    assert interval["readings"][0] in season["sentences"]
