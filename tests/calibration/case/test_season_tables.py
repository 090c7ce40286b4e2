"""The tables of a season: a bill is read, written and refused with its place."""

import datetime as dt
import re
from dataclasses import replace

import pytest

from calibration.case.errors import CaseError
from calibration.case.file import case_text, parse_case
from calibration.costs.season_case import season_case
from tests.calibration.sample_case import SAMPLE, changed

DAYS = "first_day = 2026-06-20\nlast_day = 2026-07-19\n"


def with_bill(text):
    return f"{SAMPLE}\n[season.bill]\n{text}"


def problem_of(text):
    with pytest.raises(CaseError) as error:
        parse_case(with_bill(text))
    (problem,) = error.value.problems
    return str(problem)


def test_a_bill_is_read_in_si_and_written_again():
    case = parse_case(with_bill(f"kwh = 1240\nother_kwh = 410\nmean_outdoor = 79.5\n{DAYS}"))
    bill = case.season.bill
    assert bill.kwh == pytest.approx(1240 * 3.6e6)
    assert bill.other_kwh == pytest.approx(410 * 3.6e6)
    assert bill.mean_outdoor == pytest.approx((79.5 + 459.67) / 1.8)
    assert (bill.first_day, bill.last_day, bill.days) == (dt.date(2026, 6, 20), dt.date(2026, 7, 19), 30)
    assert parse_case(case_text(case)) == case


def test_a_bill_may_be_of_months():
    bill = parse_case(with_bill("kwh = 2900\nmonths = [6, 7, 8]\n")).season.bill
    assert bill.months == (6, 7, 8) and bill.days is None and bill.other_kwh is None


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (DAYS, "[season.bill] kwh: is missing; a number in kWh, for example 1400, is expected"),
        ("kwh = 900\n", "[season.bill] first_day: is missing; first_day and last_day, or months,"),
        ("kwh = 900\nfirst_day = 2026-07-01\n", "[season.bill] last_day: is missing"),
        (f"kwh = 900\nmonths = [7]\n{DAYS}", "[season.bill] months: is given beside first_day or last_day"),
        (
            "kwh = 900\nfirst_day = 2026-07-01\nlast_day = 2026-06-01\n",
            "[season.bill] last_day: is 2026-06-01; a day within a year after first_day, 2026-07-01,",
        ),
        (f"kwh = 900\nother_kwh = 950\n{DAYS}", "[season.bill] other_kwh: less than kwh is expected"),
        (f"kwh = 0\n{DAYS}", "[season.bill] kwh: is 0 kWh; 1 to 100000000 kWh is expected"),
        (f"kwh = 900\nother = 3\n{DAYS}", "[season.bill] other: is not known here; did you mean"),
        (
            "kwh = 900\nfirst_day = 7\nlast_day = 2026-06-01\n",
            "[season.bill] first_day: is 7; a date such as 2026-05-14 is expected",
        ),
    ],
)
def test_a_bill_that_says_too_little_or_too_much_is_refused(text, sentence):
    assert problem_of(text).startswith(sentence)


CLIMATE = """weather = "monthly means"
monthly_means = [39, 42, 51, 59, 67, 75, 78, 77, 71, 60, 51, 42]
daily_ranges = [20]
exceeded_1_percent = 91
exceeded_99_percent = 24
"""


def of_months(text):
    return changed(('weather = "bins"\ncooling_hours = 1300.0\n', text))


def test_monthly_means_are_read_in_si_and_written_again():
    case = parse_case(of_months(CLIMATE))
    assert case.season.monthly_means[6] == pytest.approx((78 + 459.67) / 1.8)
    assert case.season.daily_ranges == pytest.approx([20 / 1.8] * 12)
    assert parse_case(case_text(case)) == case
    assert "daily_ranges = [20.0]" in case_text(case)
    inputs = season_case(case)
    assert inputs.setting.year.is_hourly
    assert any("made from monthly means" in one for one in inputs.assumptions)


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("42]", "42, 40]", "[season] monthly_means: has 13; 12 numbers, from January on, are expected"),
        ("78", "178", "[season] monthly_means: holds one that is 178 degF; -60 to 120 degF is expected"),
        ("exceeded_99_percent = 24\n", "", "[season] exceeded_99_percent: is missing; it is expected with"),
        ("= 91", "= 70", "[season] exceeded_1_percent: more than the warmest month's mean is expected"),
        ("= 24", "= 44", "[season] exceeded_99_percent: less than the coldest month's mean is expected"),
        ('"monthly means"', '"bins"', '[season] monthly_means: weather = "monthly means" is expected'),
        ("[20]", "20", "[season] daily_ranges: is 20; a list of numbers, one for each month, is expected"),
    ],
)
def test_monthly_means_that_do_not_go_together_are_refused(old, new, sentence):
    assert old in CLIMATE
    with pytest.raises(CaseError) as error:
        parse_case(of_months(CLIMATE.replace(old, new, 1)))
    assert str(error.value.problems[0]).startswith(sentence)


BLOCKS = """other_use = [520]
carbon_file = "carbon.csv"
"""
STEP = """
[[season.tariff.blocks]]
above = 600
adds = 0.06
"""


def with_blocks(text):
    return changed(('currency = "USD"\n', f'currency = "USD"\n{text}')) + STEP


def test_blocks_are_read_in_si_and_written_again(tmp_path):
    case = parse_case(with_blocks(BLOCKS))
    tariff = case.season.tariff
    assert tariff.blocks[0].above == pytest.approx(600 * 3.6e6) and tariff.blocks[0].adds == 0.06
    assert tariff.other_use == pytest.approx([520 * 3.6e6] * 12)
    assert parse_case(case_text(case)) == case
    (tmp_path / "carbon.csv").write_text("carbon [g/kWh]\n" + "250\n" * 8760, "utf-8")
    used = season_case(replace(case, source=tmp_path / "case.toml")).setting.tariff
    assert used.blocks[0].above_kwh == pytest.approx(600.0)
    assert used.carbon_by_hour[0] == pytest.approx(0.25) and len(used.carbon_by_hour) == 8760


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("carbon\n1\n", "carbon file carbon.csv: .*8760"),
        ("carbon [lb/kWh]\n1\n", "unit of carbon must be one of kg/kWh, g/kWh, got 'lb/kWh'"),
        ("intensity\n1\n", "line 1: a column named carbon is needed"),
        ("carbon\nlittle\n", "line 2: carbon must be a number, got 'little'"),
    ],
)
def test_a_carbon_file_that_is_none_is_refused(tmp_path, content, words):
    (tmp_path / "carbon.csv").write_text(content, "utf-8")
    case = replace(parse_case(with_blocks(BLOCKS)), source=tmp_path / "case.toml")
    with pytest.raises(ValueError, match=words):
        season_case(case)


def test_a_block_without_its_price_is_refused():
    with pytest.raises(CaseError) as error:
        parse_case(with_blocks("").replace("adds = 0.06\n", ""))
    assert str(error.value.problems[0]).startswith(
        "[season.tariff.blocks] 1, adds: is missing; a number per kWh"
    )


GENERATION = "generation = [450]\nexport_price = 0.06\ndemand_minutes = 15\n"


def with_tariff(text):
    return changed(('currency = "USD"\n', f'currency = "USD"\n{text}'), ('"bins"', '"Miami FL"'))


def test_own_generation_and_the_demand_meter_are_read_in_si_and_written_again():
    case = parse_case(with_tariff(GENERATION))
    tariff = case.season.tariff
    assert tariff.generation == pytest.approx([450 * 3.6e6] * 12)
    assert (tariff.export_price, tariff.demand_minutes) == (0.06, 15.0)
    assert parse_case(case_text(case)) == case
    used = season_case(case).setting.tariff
    assert used.generation == tariff.generation
    assert (used.export_price, used.demand_minutes) == (0.06, 15.0)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            with_tariff("generation = [450]\n"),
            "[season.tariff] export_price: is missing; a number per kWh is expected beside generation",
        ),
        (
            with_tariff("export_price = 0.06\n"),
            "[season.tariff] generation: is missing; kWh of each month are expected beside export_price",
        ),
        (
            with_tariff(GENERATION) + STEP,
            "[season.tariff] generation: is given beside blocks; one of the two is expected",
        ),
        (
            with_blocks(GENERATION).removesuffix(STEP),
            "[season.tariff] generation: an hourly year as weather is expected with it",
        ),
        (with_tariff("demand_minutes = 90\n"), "[season.tariff] demand_minutes: is 90"),
    ],
)
def test_tariffs_that_do_not_go_together_are_refused(text, sentence):
    with pytest.raises(CaseError) as error:
        parse_case(text)
    assert str(error.value.problems[0]).startswith(sentence)


TRACK = """
[[track]]
date = 2026-06-01
level = 0.1
level_low = 0.05
level_high = 0.2
outdoor_db = 90.0
event = "cleaned"
"""


def test_days_of_a_track_are_read_in_si_and_written_again():
    case = parse_case(f"{SAMPLE}{TRACK}{TRACK.replace('06-01', '06-08').replace('event', '# event')}")
    first, second = case.track
    assert (first.level, first.level_low, first.level_high) == (0.1, 0.05, 0.2)
    assert first.outdoor_db == pytest.approx((90.0 + 459.67) / 1.8)
    assert (first.event, second.event) == ("cleaned", "")
    assert parse_case(case_text(case)) == case


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            TRACK.replace("level = 0.1", "level = 0.3"),
            "level: a level from level_low to level_high is expected",
        ),
        (TRACK.replace("level = 0.1\n", ""), "level: is missing; a number, for example"),
        (TRACK.replace("0.2", "2.0"), "level_high: is 2; 0 to 1 is expected"),
        (TRACK.replace('"cleaned"', "3"), "event: is 3; text in quotes is expected"),
        (
            TRACK + TRACK.replace("06-01", "05-01"),
            "date: is 2026-05-01; a day not before 2026-06-01 is expected",
        ),
        (501 * TRACK, "track: there are 501; at most 500 are expected"),
        ("[track]\ndate = 2026-06-01\n", "one table [[track]] for each day is expected"),
    ],
)
def test_a_track_that_cannot_be_is_refused_in_a_sentence(text, sentence):
    with pytest.raises(CaseError) as error:
        parse_case(f"{SAMPLE}{text}")
    assert any(sentence in str(problem) for problem in error.value.problems)


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        (
            "growth_rate_low = 0.05",
            "growth_rate_low: is given without the others; growth_rate, growth_rate_low,",
        ),
        ("growth_rate = 0.1\ngrowth_rate_high = 0.2", "growth_rate_high: is given without the others"),
        (
            "growth_rate = 0.3\ngrowth_rate_low = 0.1\ngrowth_rate_high = 0.2",
            "growth_rate: a rate from growth_rate_low to growth_rate_high is expected",
        ),
        ("growth_rate_low = 0.0", "growth_rate_low: is 0 1/year; 0.0001 to 10 1/year is expected"),
    ],
)
def test_a_range_goes_with_its_growth_rate(lines, sentence):
    lacking = re.sub("^growth_rate = .*$", lines, SAMPLE, flags=re.MULTILINE)
    with pytest.raises(CaseError) as error:
        parse_case(lacking)
    (problem,) = error.value.problems
    assert str(problem).startswith(f"[cleaning] {sentence}")
