"""Where the unit trips, in figures and words: the model's numbers, and plain words where there is none."""

import json
from dataclasses import replace

import numpy as np
import pytest

from calibration.clean_fit.trip_prediction import (
    TripPrediction,
    predicted_trip_level,
    predicted_trip_temperature,
)
from dashboard.cli import run
from dashboard.results.figures import to_json
from dashboard.results.prediction import fouling_levels, weather_of
from dashboard.results.trip import (
    SHARE_KEY,
    TEMPERATURE_KEY,
    beyond_figure,
    spanned_trip_figure,
    trip_figure,
    trip_share,
    trip_temperatures,
    trips_json,
    with_trips,
)
from model.cycle.faults import Faults
from model.cycle.high_pressure_trip import COOLEST, ENDINGS, HOTTEST

SHARES = (0.0, 0.6)


@pytest.fixture(scope="module")
def fitted(demo):
    return demo.baseline, weather_of(demo.case, demo.visit)


def ending(name, value=310.0):
    return TripPrediction(np.asarray(value), np.asarray(1.0), np.asarray(ENDINGS.index(name)))


def test_figures_and_sentences_are_those_of_the_fitted_unit(fitted):
    baseline, weather = fitted
    found = trip_temperatures(baseline, weather, SHARES, "SI", {})
    blocked = Faults(condenser_blocked=np.array(SHARES))
    model = predicted_trip_temperature(baseline, weather.conditions, blocked)
    for index, told in enumerate(found):
        shown = told.figure
        assert shown.value == pytest.approx(float(model.value[index]) - 273.15, abs=1e-6)
        assert shown.low < shown.value < shown.high
        assert f"at {shown.text} degC outdoors ({shown.interval_text})" in told.sentence
    share = float(predicted_trip_level(baseline, weather.conditions).value)
    told = trip_share(baseline, weather, "SI", {})
    assert told.figure.value == pytest.approx(100.0 * share, abs=1e-5)
    assert f"with {100.0 * share:.1f} % of the face blocked" in told.sentence


def test_predict_shows_them_for_every_share(fitted, demo, capsys):
    assert run(["predict", str(demo.case.source), "--blocked", "0", "--blocked", "60", "--json"]) == 0
    numbers = json.loads(capsys.readouterr().out)
    found, share = trip_temperatures(*fitted, SHARES, "US", {}), trip_share(*fitted, "US", {})
    for level, one in zip(numbers["levels"], found, strict=True):
        assert level["figures"][TEMPERATURE_KEY] == to_json([one.figure])[TEMPERATURE_KEY]
    assert numbers["trip"] == trips_json(found, share)
    levels = with_trips(fouling_levels(*fitted, SHARES, "US", {}), found)
    assert [one.key for one in levels[1].figures[-2:]] == [TEMPERATURE_KEY, "state"]


def test_other_faults_count(fitted):
    gas = {"noncondensable": 2e5}
    alone, gassy = (trip_temperatures(*fitted, (0.3,), "SI", others)[0].figure for others in ({}, gas))
    assert gassy.value < alone.value - 2.0
    assert trip_share(*fitted, "SI", gas).figure.value < trip_share(*fitted, "SI", {}).figure.value


def test_where_there_is_no_number_there_are_words(fitted):
    baseline, weather = fitted
    cool = replace(weather, settings={**weather.settings, "outdoor_db": 288.0})
    (choked,) = trip_temperatures(baseline, cool, (0.93,), "US", {})
    assert choked.figure.text == "under 55.0"
    assert "trips on high pressure even at 55.0 degF outdoors" in choked.sentence
    share = trip_share(baseline, cool, "US", {})
    assert share.figure.text == "over 80.0"
    assert "does not trip on high pressure with up to 80.0 % of the face blocked" in share.sentence
    assert trip_figure(TEMPERATURE_KEY, ending("never trips"), "US").text == "over 140.0"
    assert trip_figure(SHARE_KEY, ending("always trips", 0.0), "US").text == "under 0.0"
    assert trip_figure(TEMPERATURE_KEY, ending("low pressure first"), "US").text == "low pressure first"
    assert trip_figure(TEMPERATURE_KEY, ending("not converged"), "US").text == "-"


def test_ends_of_a_range_are_shown_in_words():
    assert spanned_trip_figure(HOTTEST, (320.0, HOTTEST), "US").text == "over 140.0"
    assert spanned_trip_figure(COOLEST, (COOLEST, 290.0), "US").text == "under 55.0"
    inside = spanned_trip_figure(320.0, (315.0, 325.0), "SI")
    assert (inside.text, inside.interval_text) == ("46.9", "41.9 to 51.9")
    assert beyond_figure(TEMPERATURE_KEY, 325.0, True, "SI").text == "over 51.9"
    assert beyond_figure(TEMPERATURE_KEY, 325.0, True, "SI").unit == "degC"
