"""A weather file of one's own place, read in on the form and kept beside the case."""

import tempfile
from pathlib import Path

import streamlit as st

from calibration.files.typical_years import WEATHER_ENDINGS
from calibration.files.weather_file import LARGEST_FILE, read_weather
from dashboard.web import screen, session
from dashboard.web.form.fields import Form

WEATHER = ("season", "weather")
ASKED = "Weather of another place: an EPW, TMY3 or TMY2 file"


def weather_upload(form: Form) -> None:
    """The place for a file; once read it is the weather of the case."""
    file = st.file_uploader(ASKED, type=[ending[1:] for ending in WEATHER_ENDINGS], key="weather_file")
    if file is None or st.session_state.get("weather_taken") == file.file_id:
        return
    content = file.getvalue()
    try:
        place = _place_of(file.name, content)
        name = session.workspace().keep_file(file.name, content)
    except (OSError, ValueError) as problem:
        screen.problems("This file cannot be used", str(problem).splitlines())
        return
    st.session_state["weather_taken"] = file.file_id
    form.draft.put(WEATHER, name, form.system)
    form.draft.show_anew()
    session.notify(f"The weather is that of {place} now.")
    st.rerun()


def _place_of(name: str, content: bytes) -> str:
    """Place whose year a file holds.

    Raises
    ------
    ValueError
        Where it holds none.
    """
    if len(content) > LARGEST_FILE:
        raise ValueError(f"it is larger than {LARGEST_FILE // 1_000_000} MB")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"weather{Path(name).suffix.lower()}"
        path.write_bytes(content)
        try:
            return read_weather(path).place
        except ValueError as problem:
            raise ValueError(str(problem).replace(path.name, Path(name).name)) from None
