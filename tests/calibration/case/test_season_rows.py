"""Rows of season, tariff, bill and cleaning: each key once in its section, examples within their ranges."""

from calibration.case.season_rows import SEASON_ROWS


def test_every_key_is_there_once_and_its_numbers_are_in_order():
    places = [row[:2] for row in SEASON_ROWS]
    assert len(set(places)) == len(places)
    for row in SEASON_ROWS:
        if len(row) == 7:
            low, high = row[4]
            usual_low, usual_high = row[5]
            assert low <= usual_low <= row[6] <= usual_high <= high, row[:2]
        elif row[3] == "choice":
            assert row[4] in row[5]
