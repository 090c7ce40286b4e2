"""Form of a unit that is not about its visits: nameplate, meters, season, prices and cleaning."""

from collections.abc import Sequence

import streamlit as st

from calibration.case.errors import Path
from calibration.case.keys import keys_of
from dashboard.web.form.draft import SECTIONS
from dashboard.web.form.fields import Form, field
from dashboard.web.form.photo_upload import photo_uploads
from dashboard.web.form.weather_upload import weather_upload

NAMEPLATE = ("name", "refrigerant", "rated_capacity", "expansion")
"""What every unit needs; the rest of the nameplate is folded away."""


def nameplate(form: Form) -> None:
    """Fields of the unit itself."""
    _fields(form, ("unit",), NAMEPLATE)
    seldom = [name for name in keys_of("unit") if name not in NAMEPLATE]
    with st.expander("More from the nameplate", key=f"nameplate_{form.draft.serial}"):
        _fields(form, ("unit",), seldom)


def meters(form: Form) -> None:
    """Fields of the meters' accuracies."""
    st.caption(
        "Only what differs from the usual accuracy of such a meter. One standard deviation, or, where the "
        "first field says so, the limits of error from a data sheet."
    )
    _fields(form, ("instruments",), list(keys_of("instruments")))


def report(form: Form) -> None:
    """Fields of who and what the printed report names."""
    st.caption("Printed on the report; what is left empty there is a line to fill in by hand.")
    _fields(form, SECTIONS["report"], list(keys_of("report")))
    photo_uploads(form)


def season(form: Form) -> None:
    """Fields of weather, load, prices and cleaning."""
    headings = {
        "season": "Weather and load",
        "tariff": "Electricity",
        "bill": "A bill, from which the load follows",
        "cleaning": "Cleaning and fouling",
    }
    for section, heading in headings.items():
        st.subheader(heading, anchor=False)
        _fields(form, SECTIONS[section], list(keys_of(section)))
        if section == "season":
            weather_upload(form)


def _fields(form: Form, place: Path, names: Sequence[str]) -> None:
    """Fields in two columns, in reading order on a phone, too."""
    for start in range(0, len(names), 2):
        columns = st.columns(2, gap="medium")
        for column, name in zip(columns, names[start : start + 2], strict=False):
            with column:
                field(form, (*place, name))
