"""Files of one's own that a season may name, read in on the form and kept beside the case."""

import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import streamlit as st

from calibration.case.errors import Path as Place
from calibration.case.units import SYSTEMS
from calibration.files.typical_years import WEATHER_ENDINGS
from calibration.files.weather_file import (
    LARGEST_FILE,
    read_hourly_carbon,
    read_hourly_load,
    read_weather,
)
from dashboard.web import screen, session
from dashboard.web.form.fields import Form


@dataclass(frozen=True)
class Upload:
    """One kind of file: the field that names it, what is asked for, its endings, and how it is read.

    The reader gives the sentence that is said when the file is taken, and raises ValueError where it is none.
    """

    field: Place
    asked: str
    endings: tuple[str, ...]
    read: Callable[[Path], str]


def upload(form: Form, kind: Upload) -> None:
    """The place for a file; once read it is what the case names."""
    name = str(kind.field[-1])
    file = st.file_uploader(kind.asked, type=[one[1:] for one in kind.endings], key=f"upload_{name}")
    if file is None or st.session_state.get(f"taken_{name}") == file.file_id:
        return
    content = file.getvalue()
    try:
        sentence = _read(kind, file.name, content)
        kept = session.workspace().keep_file(file.name, content)
    except (OSError, ValueError) as problem:
        screen.problems("This file cannot be used", str(problem).splitlines())
        return
    st.session_state[f"taken_{name}"] = file.file_id
    form.draft.put(kind.field, kept, form.system)
    form.draft.show_anew()
    session.notify(sentence)
    st.rerun()


def _read(kind: Upload, name: str, content: bytes) -> str:
    """What is said once a file is taken.

    Raises
    ------
    ValueError
        Where it is not such a file.
    """
    if len(content) > LARGEST_FILE:
        raise ValueError(f"it is larger than {LARGEST_FILE // 1_000_000} MB")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"upload{Path(name).suffix.lower()}"
        path.write_bytes(content)
        try:
            return kind.read(path)
        except ValueError as problem:
            raise ValueError(str(problem).replace(path.name, Path(name).name)) from None


def _weather(path: Path) -> str:
    return f"The weather is that of {read_weather(path).place} now."


def _load(path: Path) -> str:
    """Of a file that names its unit: without one the hours would change with the case's units."""
    load, other = (read_hourly_load(path, system).total for system in SYSTEMS)
    if not np.array_equal(load, other):
        raise ValueError(f"{path.name}: the unit of the load is expected in its header, such as load [kW]")
    return f"The load is that of the file now: {load.max() / 1000.0:,.1f} kW at most."


def _carbon(path: Path) -> str:
    mean = 1000.0 * float(np.mean(read_hourly_carbon(path)))
    return f"The carbon intensity is that of the file now: {mean:,.0f} g/kWh on average."


WEATHER = Upload(
    ("season", "weather"), "Weather of another place: an EPW, TMY3 or TMY2 file", WEATHER_ENDINGS, _weather
)
LOAD = Upload(
    ("season", "load_file"), "The building's hourly cooling load: a CSV file, 8,760 rows", (".csv",), _load
)
CARBON = Upload(
    ("season", "tariff", "carbon_file"),
    "The grid's hourly carbon intensity: a CSV file, 8,760 rows",
    (".csv",),
    _carbon,
)
