"""Shipped typical years against the station files that they were copied from."""

import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from calibration.files.typical_years import TYPICAL_YEARS, near_places, typical_year
from calibration.files.weather_file import read_weather

STATION_FILES = {
    "Greensboro NC": "723170TYA.CSV",
    "Miami FL": "12839.tm2",
    "Sand Point AK": "703165TY.csv",
}
"""Station files, as the package of the weather readers carries them."""


@pytest.mark.parametrize("name", TYPICAL_YEARS)
def test_every_number_is_that_of_the_station_file(name):
    shipped = typical_year(name)
    station = read_weather(Path(str(files("pvlib") / "data" / STATION_FILES[name])))
    for column in ("temperature", "humidity_ratio", "pressure", "weekday", "month", "hour"):
        assert np.allclose(getattr(shipped, column), getattr(station, column), rtol=1e-12)
    assert shipped.place == station.place


def test_source_and_licence_are_beside_the_tables():
    folder = files("calibration.files") / "years"
    notes = (folder / "README.md").read_text(encoding="utf-8")
    for table, _ in TYPICAL_YEARS.values():
        assert table in notes
    assert "public domain" in notes


def test_a_season_reads_its_typical_year_without_a_weather_library():
    code = (
        "import sys; from calibration.files.typical_years import typical_year; typical_year();"
        "import calibration.costs.season_case; sys.exit('pvlib' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize(
    ("typed", "near"),
    [("greensboro", "Greensboro NC"), ("Miami", "Miami FL"), ("sandpoint ak", "Sand Point AK")],
)
def test_an_unknown_name_is_refused_with_near_ones(typed, near):
    assert near_places(typed)[0] == near
    with pytest.raises(ValueError, match=f"weather must be one of {near}.* or a file, got '{typed}'"):
        typical_year(typed)


def test_a_name_like_none_is_refused_with_all():
    assert near_places("Xyz") == tuple(TYPICAL_YEARS)


def test_the_shared_table_cannot_be_changed():
    columns = typical_year()
    again = typical_year()
    assert np.array_equal(columns.temperature, again.temperature)
    with pytest.raises(ValueError, match="read-only"):
        columns.temperature[0] = 0.0
