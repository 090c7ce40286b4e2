"""Form of a unit that is not about its visits: nameplate, meters, season, prices and cleaning."""

from collections.abc import Sequence

import streamlit as st

from calibration.case.errors import Path
from calibration.case.keys import keys_of
from dashboard.web.form.draft import ROWS, SECTIONS
from dashboard.web.form.fields import Form, field
from dashboard.web.form.photo_upload import photo_uploads
from dashboard.web.form.season_uploads import CARBON, LOAD, WEATHER, upload

NAMEPLATE = ("name", "refrigerant", "rated_capacity", "expansion")
"""What every unit needs; the rest of the nameplate is folded away."""
ORDER_OF_PRICES = "Where two of these prices hold for the same hour, the upper one counts."


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
            upload(form, WEATHER)
            upload(form, LOAD)
        if section == "tariff":
            _rows(form, "period", "Prices by month, day of the week and hour", ("price",), ORDER_OF_PRICES)
            _rows(form, "block", "A price that rises with the month's electricity", ("above", "adds"))
            upload(form, CARBON)


def _rows(form: Form, section: str, heading: str, needed: Sequence[str], order: str = "") -> None:
    """A list of which a case holds several: its rows, and an empty one for the next.

    needed: keys without which a row says nothing; they come first. order: what the order of the rows means;
    empty where it means nothing.
    """
    place, names = ROWS[section], list(keys_of(section))
    names.sort(key=lambda name: name not in needed)
    numbers = form.draft.rows(place)
    with st.expander(heading, expanded=bool(numbers), key=f"{section}_rows_{form.draft.serial}"):
        if order and len(numbers) > 1:
            st.caption(order)
        for before, number in zip([None, *numbers], numbers, strict=False):
            _fields(form, (*place, number), names)
            if order and before is not None:
                key = f"up_{section}_{number}"
                st.button("Move up", key=key, on_click=form.draft.swap_rows, args=(place, before, number))
            st.divider()
        _fields(form, (*place, max(numbers, default=0) + 1), names)


def _fields(form: Form, place: Path, names: Sequence[str]) -> None:
    """Fields in two columns, in reading order on a phone, too."""
    for start in range(0, len(names), 2):
        columns = st.columns(2, gap="medium")
        for column, name in zip(columns, names[start : start + 2], strict=False):
            with column:
                field(form, (*place, name))
