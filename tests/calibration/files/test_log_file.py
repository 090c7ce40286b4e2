"""Logs of many makes: separators, times, gaps, bad rows."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.case.errors import CaseError
from calibration.case.units import PSI
from calibration.files import log_layout
from calibration.files.log_file import read_log
from model.properties.moist_air import STANDARD_PRESSURE


@pytest.fixture
def log(tmp_path):
    def write(text, system="US", **options):
        path = tmp_path / "log.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
        return read_log(path, system, **options)

    return write


def test_a_plain_log(log):
    found = log(
        "time,outdoor_db,suction_pressure [psi],remark\n0,95,100,a\n10,86,110,b\n", ambient_pressure=9e4
    )
    assert found.seconds.tolist() == [0, 10]
    assert found.readings["outdoor_db"].tolist() == pytest.approx([308.15, 303.15])
    assert found.readings["suction_pressure"].tolist() == pytest.approx([100 * PSI + 9e4, 110 * PSI + 9e4])
    assert (found.start, found.left_out, found.ignored) == (None, 0, ("remark",))
    assert (found.gauges, found.ambient_pressure) == (frozenset({"suction_pressure"}), 9e4)


@pytest.mark.parametrize("end", ["\r", "\r\n"])
def test_lines_may_end_in_a_return(log, end):
    found = log(end.join(["time,outdoor_db", "0,95", "10,86", ""]))
    assert found.readings["outdoor_db"].tolist() == pytest.approx([308.15, 303.15])


def test_the_systems_units_and_absolute_pressures(log):
    found = log("time;outdoor_db;suction_pressure [kPa abs]\n0;35,5;900\n1;35,5;910\n", "SI")
    assert found.readings["outdoor_db"].tolist() == pytest.approx([308.65, 308.65])
    assert found.readings["suction_pressure"].tolist() == pytest.approx([9e5, 9.1e5])
    assert found.gauges == frozenset()
    assert found.ambient_pressure == STANDARD_PRESSURE


@pytest.mark.parametrize(
    ("header", "stamps", "start"),
    [
        ("time [min]", ["0", "0.5", "1"], None),
        ("elapsed [h]", ["0", "0.0083333333", "0.0166666667"], None),
        ("time", ["2026-05-14 14:30:00", "2026-05-14 14:30:30", "2026-05-14 14:31:00"], "2026-05-14 14:30"),
        (
            "timestamp",
            ["2026-05-14T14:30:00.0Z", "2026-05-14T14:30:30Z", "2026-05-14T14:31:00Z"],
            "2026-05-14 14:30",
        ),
        (
            "Time",
            ["2026-05-14T14:30+02:00", "2026-05-14T14:30:30+02:00", "2026-05-14T14:31+02:00"],
            "2026-05-14 14:30",
        ),
        ("time", ["5/14/2026 14:30:00", "5/14/2026 14:30:30", "5/14/2026 14:31:00"], "2026-05-14 14:30"),
        (
            "time",
            ["5/14/2026 2:30:00 PM", "5/14/2026 2:30:30 PM", "5/14/2026 2:31:00 PM"],
            "2026-05-14 14:30",
        ),
        ("time", ["14.05.2026 14:30:00", "14.05.2026 14:30:30", "14.05.2026 14:31:00"], "2026-05-14 14:30"),
        ("time", ["23:59:30", "00:00:00", "00:00:30"], None),
        ("time", ["14:30:00.0", "14:30:30.0", "14:31:00.0"], None),
    ],
)
def test_times(log, header, stamps, start):
    rows = "".join(f"{stamp},95\n" for stamp in stamps)
    found = log(f"{header},outdoor_db\n{rows}")
    assert found.seconds.tolist() == pytest.approx([0, 30, 60], abs=1e-4)
    assert found.start == (dt.datetime.fromisoformat(start) if start else None)


def test_an_undecided_date_is_read_as_the_system_writes_it(log):
    text = "time,outdoor_db\n5/4/2026 14:30,{0}\n5/4/2026 14:31,{0}\n"
    assert log(text.format(95), "US").start == dt.datetime(2026, 5, 4, 14, 30)
    assert log(text.format(35), "SI").start == dt.datetime(2026, 4, 5, 14, 30)


def test_bad_rows_and_entries(log):
    found = log(
        "time,outdoor_db,outdoor_power\n"
        "0,95,2900\n"
        "10,,2900\n"  # nothing
        "twenty,95,2900\n"  # no time
        "30,95,2900,7,7\n"  # too long
        "40,ERR,n/a\n"  # text
        "50,9999,-5\n"  # cannot be true
        "\n"
        "60,inf,=1+1\n"
        "70,95"  # cut off
    )
    assert found.seconds.tolist() == [0, 10, 40, 50, 60, 70]
    assert np.isfinite(found.readings["outdoor_db"]).tolist() == [True, False, False, False, False, True]
    assert np.isfinite(found.readings["outdoor_power"]).tolist() == [True, True, False, False, False, False]
    assert found.missing == {"outdoor_db": 4, "outdoor_power": 4}
    assert found.left_out == 2


def test_rows_out_of_order_are_sorted(log):
    found = log("time,outdoor_db\n20,93\n0,95\n10,94\n")
    assert found.seconds.tolist() == [0, 10, 20]
    assert found.readings["outdoor_db"].tolist() == pytest.approx([308.15, 307.5944, 307.0389], abs=1e-3)


def stamped(*clocks):
    """A log of one Sunday with a row at each clock, its outdoor air rising by a degree a row."""
    rows = (f"2026-11-01 {clock},{90 + number}\n" for number, clock in enumerate(clocks))
    return "time,outdoor_db [degF]\n" + "".join(rows)


def test_a_clock_that_is_set_back_keeps_the_order_and_is_said(log):
    found = log(stamped("01:40", "01:50", "01:00", "01:10", "01:40", "02:10"))
    assert found.seconds.tolist() == [0, 600, 1200, 1800, 3600, 5400]
    assert np.all(np.diff(found.readings["outdoor_db"]) > 0)
    assert found.remarks == (
        "the clock was set back by an hour after 2026-11-01 01:50:00; rows stay in their order",
    )


@pytest.mark.parametrize(
    "clocks",
    [
        ("01:50", "01:00", "01:10"),  # ends before it passes the time it fell back from
        ("01:50", "01:20", "02:10"),  # half an hour
        ("03:50", "01:00", "04:10"),
        ("01:50", "01:00", "02:50", "02:00", "03:10"),
    ],
)
def test_other_steps_back_are_rows_out_of_order(log, clocks):
    found = log(stamped(*clocks))
    assert found.remarks == ()
    order = np.argsort(clocks)
    assert np.argsort(found.readings["outdoor_db"]).argsort().tolist() == order.tolist()


@pytest.mark.parametrize(("each", "words"), [(1e3, "milli"), (1e6, "micro"), (1.0, None)])
def test_numbers_since_1970_may_be_thousandths_of_seconds(log, each, words):
    rows = "".join(f"{(1_780_000_000 + 10 * i) * each:.0f},95\n" for i in range(4))
    found = log(f"time,outdoor_db\n{rows}")
    assert found.seconds.tolist() == pytest.approx([0, 10, 20, 30], abs=1e-3)
    assert found.remarks == ((f"times were read as {words}seconds since 1970",) if words else ())


def test_milliseconds_may_be_said_in_the_header(log):
    assert log("time [ms],outdoor_db\n0,95\n500,95\n").seconds.tolist() == [0, 0.5]


@pytest.mark.parametrize("year", ["0001", "1949", "2201", "9999"])
def test_years_that_no_log_can_be_of_are_no_times(log, year):
    found = log(f"time,outdoor_db\n2026-05-14 10:00,95\n{year}-05-14 10:10,96\n2026-05-14 10:20,97\n")
    assert (found.seconds.tolist(), found.left_out) == ([0, 1200], 1)
    with pytest.raises(CaseError, match="no row has a time that can be read"):
        log(f"time,outdoor_db\n{year}-05-14 10:10,96\n")


def test_other_encodings(log):
    found = log("time;outdoor_db [°C];Temp\xe9rature\n0;35;1\n".encode("latin-1"))
    assert found.readings["outdoor_db"][0] == 308.15
    assert log(b"\xef\xbb\xbftime,outdoor_db\n0,95\n").seconds.tolist() == [0]


def test_progress_ends_at_one(log, monkeypatch):
    monkeypatch.setattr(log_layout, "PIECE", 10)
    shares = []
    log("time,outdoor_db\n" + "".join(f"{i},95\n" for i in range(100)), progress=shares.append)
    assert len(shares) == 10
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "has no column of times"),
        ("outdoor_db\n95\n", "has no column of times; one of time, timestamp"),
        ("time,remark\n1,2\n", "has no column with a reading, such as suction_pressure"),
        ("time,outdoor_db,outdoor_db [degC]\n1,2,3\n", "has two columns of outdoor_db"),
        ("time,outdoor_db,outdoor_db\n1,2,3\n", "has two columns of outdoor_db"),
        ("time,outdoor_db [psi]\n1,2\n", "degF or degC or K is expected in the brackets"),
        ("time,outdoor_db\nx,95\ny,95\n", "no row has a time that can be read in column 'time'"),
        ("time,outdoor_db\n", "no row has a time that can be read"),
        (b"PK\x03\x04\x00\x00", "is not a table of text"),
        ("time," + ",".join(f"c{i}" for i in range(1000)) + "\n", "has 1001 columns; at most 400"),
    ],
)
def test_logs_that_cannot_be_used(log, text, sentence):
    with pytest.raises(CaseError, match=sentence):
        log(text)


def test_a_missing_log(tmp_path):
    with pytest.raises(CaseError, match="there is no such file"):
        read_log(tmp_path / "none.csv", "US")


def test_logs_out_of_all_proportion_are_refused_at_once(log, monkeypatch):
    text = "time,outdoor_db\n" + "".join(f"{i},95\n" for i in range(300))
    monkeypatch.setattr(log_layout, "MOST_ROWS", 100)
    with pytest.raises(CaseError, match="has more than 100 rows; cut it to the visit"):
        log(text)
    monkeypatch.setattr(log_layout, "LARGEST_LOG", 100)
    with pytest.raises(CaseError, match="is longer than the 100 bytes"):
        log(text)


@given(
    st.one_of(
        st.binary(max_size=200), st.text(max_size=200).map(lambda t: ("time,outdoor_db\n" + t).encode())
    )
)
@settings(derandomize=True, deadline=None, max_examples=60)
def test_anything_is_read_or_refused_in_words(tmp_path_factory, content):
    path = tmp_path_factory.getbasetemp() / "random.csv"
    path.write_bytes(content)
    try:
        found = read_log(path, "US")
    except CaseError as error:
        assert error.problems
    else:
        assert np.all(np.diff(found.seconds) >= 0)


def test_a_line_without_end_is_refused_unread(log, monkeypatch):
    with pytest.raises(CaseError, match="has a first line of more than 65536 bytes"):
        log("time,outdoor_db," + "x" * 70_000 + "\n0,95\n")
    monkeypatch.setattr(log_layout, "LONGEST_ROW", 1000)
    monkeypatch.setattr("pandas.read_csv", None)
    with pytest.raises(CaseError, match="has a line of more than 1000 bytes"):
        log("time,outdoor_db\n0,95\n" + "1" * 3000)


def test_words_in_use_name_columns_as_in_tables_of_visits(tmp_path):
    path = tmp_path / "log.csv"
    lines = [f"{second},{95 + second % 2},136,64,9" for second in range(0, 60, 10)]
    path.write_text("\n".join(["time [s],ambient °F,suction psig,suction line [°F],sky", *lines]), "utf-8")
    log = read_log(path, "US")
    assert set(log.readings) == {"outdoor_db", "suction_pressure", "suction_temperature"}
