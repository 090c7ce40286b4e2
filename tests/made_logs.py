"""Invented logs of one unit: it starts, settles and runs on, with the noise of its meters.

Not a test: other tests and the benchmark take their logs from here. Every number is made up.
"""

from pathlib import Path

import numpy as np

END_STATE = {  # header: (value when settled, noise, how much further off at the start)
    "outdoor_db [degF]": (95.0, 0.2, 0.0),
    "return_db [degF]": (80.0, 0.2, 2.0),
    "return_wb [degF]": (67.0, 0.1, 3.0),
    "supply_db [degF]": (59.0, 0.2, 18.0),
    "supply_wb [degF]": (57.0, 0.1, 9.0),
    "indoor_airflow [cfm]": (1180.0, 8.0, 0.0),
    "suction_pressure [psi]": (134.0, 0.6, 90.0),
    "liquid_pressure [psi]": (352.0, 1.0, -110.0),
    "suction_temperature [degF]": (61.0, 0.3, 15.0),
    "liquid_temperature [degF]": (102.0, 0.2, -6.0),
    "outdoor_power [W]": (3140.0, 15.0, -700.0),
    "indoor_power [W]": (430.0, 3.0, 0.0),
}
PIECE = 20_000  # rows that are turned to text at once


def made_log(rows: int = 720, interval: float = 5.0, settling: float = 300.0, seed: int = 5) -> dict:
    """Columns of a log by their headers; `settling` is the time constant of the start [s], 0 for none."""
    rng = np.random.default_rng(seed)
    seconds = interval * np.arange(rows)
    start = np.datetime64("2026-05-14T13:00:00")
    columns = {"time": start + seconds.astype("timedelta64[s]")}
    for header, (level, noise, off) in END_STATE.items():
        decay = np.exp(-seconds / settling) if settling else 0.0
        columns[header] = level + off * decay + noise * rng.standard_normal(rows)
    return columns


def write_log(path: Path, columns: dict) -> Path:
    """The columns as a CSV file, two digits a number."""
    names = list(columns)
    with path.open("w", encoding="utf-8", newline="") as file:
        file.write(",".join(names) + "\n")
        for first in range(0, len(columns[names[0]]), PIECE):
            piece = slice(first, first + PIECE)
            texts = [np.datetime_as_string(columns[names[0]][piece], unit="s")]
            texts += [np.char.mod("%.2f", columns[name][piece]) for name in names[1:]]
            file.writelines(",".join(row) + "\n" for row in zip(*texts, strict=True))
    return path
