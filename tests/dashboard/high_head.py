"""The demo's unit with a high head pressure and 22 degF of subcooling, its coil clean. Numbers are invented.

Each set of readings comes from the project's own model of the demo's fitted unit with one fault, rounded as
gauges and thermometers are read; it replaces the readings of the visit as found.
"""

from pathlib import Path

DEMO = Path(__file__).resolve().parents[2] / "cases" / "demo.toml"
READ = {
    "non_condensables": {
        "supply_db": 58.1,
        "supply_wb": 55.8,
        "condenser_leaving_db": 112.5,
        "suction_pressure": 140,
        "liquid_pressure": 461,
        "discharge_pressure": 467,
        "suction_temperature": 67.1,
        "liquid_temperature": 105.4,
        "discharge_temperature": 189.2,
        "outdoor_power": 2929,
    },
    "overcharge": {
        "supply_db": 57.6,
        "supply_wb": 55.4,
        "condenser_leaving_db": 112.8,
        "suction_pressure": 138,
        "liquid_pressure": 423,
        "discharge_pressure": 429,
        "suction_temperature": 66.7,
        "liquid_temperature": 98.5,
        "discharge_temperature": 179.1,
        "outdoor_power": 2716,
    },
}
"""Readings by what is wrong, in the units of the demo's file."""


def write_case(folder: Path, fault: str) -> Path:
    """The demo's case file with other readings as found."""
    return write_readings(folder / f"{fault}.toml", READ[fault])


def write_readings(path: Path, readings: dict[str, float]) -> Path:
    """The demo's case file with some readings of the visit as found replaced."""
    clean, found, rest = _visits(DEMO.read_text(encoding="utf-8"))
    lines = []
    for line in found.splitlines():
        key = line.split(" = ")[0]
        lines.append(f"{key} = {readings[key]}" if key in readings else line)
    path.write_text(clean + "\n".join(lines) + "\n" + rest, encoding="utf-8")
    return path


def _visits(text: str) -> tuple[str, str, str]:
    """Text until the visit as found, that visit, and what comes after it."""
    start = text.rindex("[[visit]]")
    end = text.index("[instruments]")
    return text[:start], text[start:end], text[end:]
