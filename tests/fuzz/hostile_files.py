"""Files that nobody should give to the program: each is refused in words, or read as harmless text.

Not a test: `tests/test_hostile_input.py` and the longer `python -m tests.fuzz` take their files from here.
"""

import gzip
import io
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).resolve().parent.parent.parent
DEMO = (ROOT / "cases" / "demo.toml").read_text(encoding="utf-8")

CONDITIONS = "outdoor_db,return_db,return_wb,condenser_blocked,note\n95,80,67,0,a\n105,80,67,0.4,b\n"
TABLE = (
    "label,date,coil,outdoor_db,return_db,return_wb,suction_pressure [psi],liquid_pressure [psi]\n"
    "one,2026-05-01,clean,82,76,64,132,333\ntwo,2026-08-02,as found,95,78,65,139,437\n"
)
LOG = (
    "time,outdoor_db [degF],return_db [degF],return_wb [degF],suction_pressure [psi],liquid_pressure [psi]\n"
    + ("".join(f"2026-05-14T13:{i // 60:02d}:{i % 60:02d},95,80,67,134,352\n" for i in range(0, 2400, 20)))
)

LANGUAGE = (
    'msgid ""\nmsgstr ""\n"Language: de\\n"\n"Content-Type: text/plain; charset=utf-8\\n"\n'
    '"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n#: dashboard/results/match.py\n'
    '#, python-brace-format\nmsgid "Nearest is {fault}."\nmsgstr "Am nächsten ist {fault}."\n\n'
    'msgid "{number} year"\nmsgid_plural "{number} years"\nmsgstr[0] "ein Jahr"\nmsgstr[1] "{number} "\n'
    '"Jahre"\n\n#, fuzzy\nmsgctxt "page"\nmsgid "Finding"\nmsgstr "Befund"\n#~ msgid "old"\n#~ msgstr "alt"\n'
)


def without_form() -> dict[str, bytes]:
    """Content that is no text of any kind, or in an encoding that nobody expects."""
    return {
        "empty": b"",
        "one NUL": b"\0",
        "NULs": b"\0" * 100_000,
        "all bytes": bytes(range(256)) * 40,
        "UTF-16": DEMO.encode("utf-16"),
        "UTF-16 without a mark": DEMO.encode("utf-16-le"),
        "UTF-32": DEMO.encode("utf-32"),
        "latin-1": DEMO.replace("Millbrook", "Mühlbach").encode("latin-1"),
        "compressed": gzip.compress(DEMO.encode(), mtime=0),
        "like a program": b"\x7fELF" + bytes(range(256)),
        "like a picture": b"\x89PNG\r\n\x1a\n" + bytes(range(256)),
        "like a pickle": b"\x80\x04\x95\x1a\x00\x00\x00\x00\x00\x00\x00\x8c\x05posix\x8c\x06system\x93.",
        "one line break": b"\n",
        "line breaks": b"\r\n" * 50_000,
        "one long line": b"a" * 3_000_000,
        "quote that never closes": b'"' + b"a\n" * 200_000,
        "brackets": b"[" * 100_000,
        "braces": b"{" * 100_000,
        "commas": b"," * 500_000,
        "surrogates": "units = 'US'\nname = '\ud800'".encode("utf-8", "surrogatepass"),
        "direction marks": ("# \u202e\u2066\n" + DEMO).encode(),
    }


def case_files() -> dict[str, bytes]:
    """Case files that are nearly right, or wrong on purpose."""
    lines = DEMO.splitlines()
    deep = "[" + ".".join(["a"] * 5000) + "]\n"
    texts = {
        "table in table": DEMO + deep,
        "list in list": DEMO + "x = " + "[" * 2000 + "]" * 2000,
        "inline table in inline table": DEMO + "x = " + "{a = " * 2000 + "1" + "}" * 2000,
        "key twice": DEMO.replace("altitude = 720", "altitude = 720\naltitude = 721"),
        "table twice": DEMO + '\n[unit]\nname = "second"\n',
        "many visits": DEMO + "\n[[visit]]\n" * 20_000,
        "many keys": DEMO + "".join(f"key{i} = {i}\n" for i in range(100_000)),
        "long key": DEMO + "k" * 1_000_000 + " = 1\n",
        "key that acts on a terminal": DEMO + '"\\u001b[2J" = 1\n',
        "name that acts on a terminal": DEMO.replace("Millbrook", "\\u001b]0;x\\u0007"),
        "long name": DEMO.replace("Millbrook", "M" * 1_000_000),
        "digits": DEMO.replace("35000", "3" * 4000),
        "float beyond all": DEMO.replace("35000", "1e999"),
        "NaN": DEMO.replace("35000", "nan"),
        "infinity": DEMO.replace("35000", "-inf"),
        "text for a number": DEMO.replace("35000", '"35000"'),
        "formula": DEMO.replace("35000", '"=1+1"'),
        "true for a number": DEMO.replace("35000", "true"),
        "hexadecimal": DEMO.replace("35000", "0xFFFFFFFFFFFFFFFF"),
        "negative": DEMO.replace("outdoor_db = 82.4", "outdoor_db = -459.7"),
        "kelvin": DEMO.replace("outdoor_db = 82.4", "outdoor_db = 301.2"),
        "kilopascal": DEMO.replace("liquid_pressure = 333", "liquid_pressure = 2296"),
        "systems swapped": DEMO.replace('units = "US"', 'units = "SI"'),
        "pressures swapped": DEMO.replace("suction_pressure = 132", "suction_pressure = 333").replace(
            "liquid_pressure = 333", "liquid_pressure = 132"
        ),
        "schema of tomorrow": DEMO.replace("schema = 1", "schema = 999"),
        "schema that is none": DEMO.replace("schema = 1", 'schema = "1; drop"'),
        "no visit": DEMO[: DEMO.index("[[visit]]")],
        "number for a date": DEMO.replace("date = 2026-05-19", "date = 20260519"),
        "text for a date": DEMO.replace("date = 2026-05-19", 'date = "19/05/2026"'),
        "month thirteen": DEMO.replace("date = 2026-05-19", "date = 2026-13-19"),
        "date long ago": DEMO.replace("date = 2026-05-19", "date = 0001-01-01"),
        "visit as a number": 'visit = 3\nunits = "US"\n',
        "unit as a list": 'unit = [1, 2]\nunits = "US"\n',
        "map of nonsense": DEMO.replace("[instruments]", _MAP.format("1e300") + "[instruments]"),
        "map of nothing": DEMO.replace("[instruments]", _MAP.format("0.0") + "[instruments]"),
        "map of a giant": DEMO.replace("[instruments]", _MAP.format("5e4") + "[instruments]"),
        "weather elsewhere": DEMO.replace('weather = "bins"', 'weather = "../../../../etc/passwd"'),
        "weather by network": DEMO.replace('weather = "bins"', 'weather = "http://localhost/a.epw"'),
        "weather that is a device": DEMO.replace('weather = "bins"', 'weather = "/dev/zero"'),
    }
    texts |= {f"cut after line {n}": "\n".join(lines[:n]) for n in range(0, len(lines), 9)}
    texts |= {f"cut after byte {n}": DEMO[:n] for n in range(50, len(DEMO), 397)}
    return {name: text.encode() for name, text in texts.items()}


_MAP = """[unit.compressor_map]
form = "US"
mass_flow = [{0}, {0}, {0}, {0}, {0}, {0}, {0}, {0}, {0}, {0}]
power = [{0}, {0}, {0}, {0}, {0}, {0}, {0}, {0}, {0}, {0}]
superheat = 20

"""


def condition_tables() -> dict[str, bytes]:
    """Tables of operating points that are nearly right, or wrong on purpose."""
    head, first = CONDITIONS.split("\n")[:2]
    texts = {
        "header alone": head + "\n",
        "thousand columns": ",".join(["outdoor_db", "return_db", "return_wb", *map(str, range(1000))])
        + "\n1,2\n",
        "column twice": f"outdoor_db,{head}\n95,{first}\n",
        "row too short": CONDITIONS + "95,80\n",
        "row too long": CONDITIONS + "95,80,67,0,a,b,c\n",
        "giant field": CONDITIONS + f"95,80,67,0,{'x' * 200_000}\n",
        "giant number": CONDITIONS + f"{'9' * 10_000},80,67,0,a\n",
        "NaN": CONDITIONS + "nan,80,67,0,a\n",
        "infinity": CONDITIONS + "95,inf,67,0,a\n",
        "negative": CONDITIONS + "95,80,-500,0,a\n",
        "words": CONDITIONS + "hot,80,67,0,a\n",
        "underscore": CONDITIONS + "9_5,80,67,0,a\n",
        "wet above dry": CONDITIONS + "95,60,67,0,a\n",
        "blocked in percent": CONDITIONS + "95,80,67,40,a\n",
        "decimal commas": CONDITIONS.replace(",", ";").replace("95", "95,5"),
        "many rows, the last wrong": CONDITIONS + f"{first}\n" * 300_000 + "hot,80,67,0,a\n",
    }
    return {name: text.encode() for name, text in texts.items()}


def logs() -> dict[str, bytes]:
    """Logs that are nearly right, or wrong on purpose."""
    head = LOG.split("\n")[0]
    texts = {
        "header alone": head + "\n",
        "no times": LOG.replace("time,", "moment,"),
        "times of nothing": head + "\n" + "never,95,80,67,134,352\n" * 200,
        "thousand columns": head + "," + ",".join(f"c{i}" for i in range(1000)) + "\n",
        "column twice": LOG.replace("return_db [degF]", "outdoor_db [degF]"),
        "unit of another kind": LOG.replace("suction_pressure [psi]", "suction_pressure [degF]"),
        "giant field": LOG + "2026-05-14T14:00:00," + "9" * 500_000 + ",80,67,134,352\n",
        "many rows without a time": head + "\n" + "never,95,80,67,134,352\n" * 300_000,
    }
    return {name: text.encode() for name, text in texts.items()}


PARQUET_ROWS = 307
"""Of a Parquet log: a number that stands in its footer for nothing else."""


def parquet(**changed: Any) -> bytes:
    """An hour and a half of a log in Parquet, some columns changed or added."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    times = np.datetime64("2026-05-14T13:00:00", "us") + 20_000_000 * np.arange(PARQUET_ROWS)
    readings = {"outdoor_db": 95.0, "return_db": 80.0, "liquid_pressure": 352.0}
    columns = {"time": times} | {name: np.full(PARQUET_ROWS, value) for name, value in readings.items()}
    content = io.BytesIO()
    pq.write_table(
        pa.table({name: pa.array(column) for name, column in (columns | changed).items()}), content
    )
    return content.getvalue()


def parquet_logs() -> dict[str, bytes]:
    """Logs in Parquet that end early, say of themselves what is not so, or hold what is no number."""
    import pyarrow as pa

    good, many = parquet(), PARQUET_ROWS
    deep = pa.array([1.0] * many)
    for _ in range(200):
        deep = pa.StructArray.from_arrays([deep], ["a"])
    return {
        "mark alone": good[:4],
        "two marks alone": good[:4] * 2,
        "mark twice": good[:4] + good,
        **{f"cut after {tenths} tenths": good[: len(good) * tenths // 10] for tenths in (1, 5, 9)},
        "cut before the last byte": good[:-1],
        "cut in the middle": good[:1000] + good[2000:],
        "wrong mark at the end": good[:-4] + b"PAR2",
        "wrong mark at the beginning": b"PAR2" + good[4:],
        "encrypted, it says": good[:-4] + b"PARE",
        **{f"footer of {n} bytes": good[:-8] + n.to_bytes(4, "little") + good[-4:] for n in (0, 2**32 - 1)},
        **{f"{rows} rows, it says": _told_rows(good, rows) for rows in (-1, 0, 10**9, 2**62)},
        "no rows": parquet(**{name: [] for name in ("time", "outdoor_db", "return_db", "liquid_pressure")}),
        "no values": parquet(time=pa.nulls(many), outdoor_db=pa.nulls(many)),
        "nested times": parquet(time=pa.array([{"a": 1}] * many)),
        "lists of times": parquet(time=pa.array([[1]] * many)),
        "nested readings": parquet(outdoor_db=pa.array([{"a": 1.0}] * many)),
        "readings nested too deep": parquet(outdoor_db=deep),
        "bytes for times": parquet(time=pa.array([b"\xff\x00"] * many)),
        "bytes for readings": parquet(outdoor_db=pa.array([b"\xff\x00"] * many).dictionary_encode()),
        "times beyond all": parquet(time=pa.array([2**62] * many, pa.timestamp("us"))),
        "clocks for times": parquet(time=pa.array([13 * 3600] * many, pa.time32("s"))),
        "thousand columns": parquet(**{f"c{i}": np.zeros(many) for i in range(1000)}),
        "name that acts on a terminal": parquet(**{"outdoor_db [\x1b[2J]": np.zeros(many)}),
    }


def _told_rows(content: bytes, rows: int) -> bytes:
    """A Parquet file whose footer says another number of rows than there are."""
    length = int.from_bytes(content[-8:-4], "little")
    footer = content[-8 - length : -8].replace(_varint(PARQUET_ROWS), _varint(rows))
    return content[: -8 - length] + footer + len(footer).to_bytes(4, "little") + content[-4:]


def _varint(number: int) -> bytes:
    """An integer as the footer has it: the sign last, seven bits a byte (Apache Thrift compact protocol)."""
    left, coded = (number << 1) ^ (number >> 63), b""
    while left > 127:
        coded += bytes([left & 127 | 128])
        left >>= 7
    return coded + bytes([left])


def visit_tables() -> dict[str, bytes]:
    """Tables of visits that are nearly right, or wrong on purpose."""
    head, first = TABLE.split("\n")[:2]
    texts = {
        "header alone": head + "\n",
        "thousand columns": ",".join(map(str, range(1000))) + "\n" + "1," * 999 + "1\n",
        "many rows": head + "\n" + f"{first}\n" * 200_000,
        "giant field": TABLE + "x" * 200_000 + ",,,,,,,\n",
    }
    return {name: text.encode() for name, text in texts.items()}


def write_huge_table(path: Path, text: str, rows: int) -> Path:
    """A table of so many rows, a multiple of 100,000: a small one's header, its first row again and again."""
    head, first = text.split("\n")[:2]
    piece = f"{first}\n".encode() * 100_000
    with path.open("wb") as file:
        file.write(f"{head}\n".encode())
        for _ in range(rows // 100_000):
            file.write(piece)
    return path
