"""Form of the readings of one visit, or of two side by side: what is asked depends on the meters at hand."""

import datetime as dt
from collections.abc import Sequence
from html import escape

import streamlit as st

from dashboard.web.form.at_once import figures_so_far
from dashboard.web.form.fields import Form, row

Visits = Sequence[tuple[int, str]]

NOT_READ = "unknown"
HUMIDITY = {"Wet bulb": "wb", "Relative humidity": "rh", "Dew point": "dewpoint", "Not read": NOT_READ}
AIRFLOW = {"At the meter": "indoor_airflow", "Of standard air": "indoor_airflow_standard"}
POWER = {"Wattmeter": False, "Volts and amperes": True}
CLAMP = tuple(
    f"{side}_{part}" for side in ("outdoor", "indoor") for part in ("volts", "amps", "power_factor", "phases")
)
WITHOUT_HUMIDITY = (
    "Without a humidity anything usual indoors is allowed for: gauges and thermometers alone give an answer, "
    "with wider 90 % ranges."
)
SELDOM = (
    "circuit",
    "condenser_leaving_db",
    "barometer",
    "liquid_valve_pressure",
    "outdoor_fan_power",
    "compressor_power",
    "standing_pressure",
    "standing_temperature",
    "compressor_speed",
    "outdoor_fan_speed",
    "settled_minutes",
    "notes",
)
REFRIGERANT = (
    "suction_pressure",
    "suction_temperature",
    "liquid_pressure",
    "liquid_temperature",
    "discharge_pressure",
    "discharge_temperature",
)


def visit_form(form: Form, visits: Visits) -> None:
    """All readings of some visits in the order in which a technician takes them.

    Parameters
    ----------
    form : Form
        The draft on the screen.
    visits : sequence of (int, str)
        Number of each visit and its words over the column.
    """
    _part("Visit" if len(visits) == 1 else "Visits", visits)
    for name in ("date", "label") if len(visits) > 1 else ("date", "label", "coil"):
        row(form, name, visits)
    _air(form, visits)
    _part("Refrigerant", visits)
    for name in REFRIGERANT:
        row(form, name, visits)
    _so_far(form, visits)
    _power(form, visits)
    with st.expander("Further readings, and notes", key=f"seldom_{form.draft.serial}"):
        for name in ("time", *SELDOM):
            row(form, name, visits)


def _so_far(form: Form, visits: Visits) -> None:
    """What follows from the readings so far, each visit in its column."""
    with st.container(key="pair_so_far"):
        columns = st.columns([1.5, *(1.0 for _ in visits)])
        columns[0].html('<p class="ct-field">At once, from the readings so far</p>')
        for column, (number, words) in zip(columns[1:], visits, strict=True):
            figures = figures_so_far(form.draft, number, form.checked.problems, form.system)
            lines = "".join(
                f"<li>{escape(one.label)} <b>{escape(one.text)}</b> {escape(one.unit)}</li>"
                for one in figures
            )
            label = escape(f"At once {words}".strip())
            column.html(f'<ul class="ct-live" aria-live="polite" aria-label="{label}">{lines}</ul>')


def _part(words: str, visits: Visits) -> None:
    """Heading of a part, and over the columns which visit is which."""
    st.subheader(words, anchor=False)
    if len(visits) > 1:
        with st.container(key=f"pair_head_{words.lower()}"):
            columns = st.columns([1.5, *(1.0 for _ in visits)])
            for column, (_, name) in zip(columns[1:], visits, strict=True):
                column.html(f'<p class="ct-column">{escape(name)}</p>')


def _air(form: Form, visits: Visits) -> None:
    """Outdoor, return and supply air with the humidity that the meter at hand shows, and the airflow."""
    _part("Air", visits)
    endings = [ending for ending in HUMIDITY.values() if ending != NOT_READ]
    return_names = [f"return_{ending}" for ending in endings]
    used = [ending for ending in endings if _typed(form, visits, (f"return_{ending}", f"supply_{ending}"))]
    not_read = NOT_READ if _typed(form, visits, ("return_humidity",)) else "wb"
    chosen = _choice("Humidity is read as", HUMIDITY, used[0] if used else not_read, form)
    for number, _ in visits:
        form.draft.leave_humidity_open(number, chosen == NOT_READ, form.system)
    if chosen == NOT_READ:
        st.caption(WITHOUT_HUMIDITY)
    shown = [ending for ending in endings if ending == chosen or ending in used]
    row(form, "outdoor_db", visits)
    for side in ("return", "supply"):
        row(form, f"{side}_db", visits)
        for ending in shown:
            row(form, f"{side}_{ending}", visits)
    _fault_without_row(form, visits, [name for name in return_names if name.split("_")[1] not in shown])
    used_airflow = [name for name in AIRFLOW.values() if _typed(form, visits, (name,))]
    airflow = _choice("Airflow is read", AIRFLOW, used_airflow[0] if used_airflow else "indoor_airflow", form)
    for name in AIRFLOW.values():
        if name == airflow or name in used_airflow:
            row(form, name, visits)


def _fault_without_row(form: Form, visits: Visits, names: Sequence[str]) -> None:
    """Sentences of fields that are not on the screen."""
    for number, words in visits:
        for name in names:
            problem = form.problem(("visit", number, name))
            if problem:
                st.html(f'<p class="ct-fault" role="alert">{escape(words)}: {escape(problem)}.</p>')


def _power(form: Form, visits: Visits) -> None:
    """Electrical power by wattmeter, or by volts, amperes and power factor."""
    _part("Power", visits)
    by_clamp = _typed(form, visits, CLAMP)
    by_watts = _typed(form, visits, ("outdoor_power", "indoor_power"))
    chosen = _choice("Power is read with", POWER, by_clamp and not by_watts, form)
    if not chosen or by_watts:
        for name in ("outdoor_power", "indoor_power"):
            row(form, name, visits)
    if chosen or by_clamp:
        for name in CLAMP:
            row(form, name, visits)


def _typed(form: Form, visits: Visits, names: Sequence[str]) -> bool:
    return any(("visit", number, name) in form.draft.entries for number, _ in visits for name in names)


def _choice(
    words: str, options: dict[str, str] | dict[str, bool], usual: str | bool, form: Form
) -> str | bool:
    """A choice between ways to take a reading, kept for the session."""
    name = f"way_{form.draft.serial}_{words}"
    labels = list(options)
    st.session_state.setdefault(name, next(label for label in labels if options[label] == usual))
    chosen = st.segmented_control(words, labels, key=name, required=True, persist_state="session")
    return options[chosen or labels[0]]


def kept_visits(form: Form) -> None:
    """Visits of a unit that is kept: choose one, change it, add, duplicate, take out."""
    draft = form.draft
    words = {number: _visit_words(form, number, place) for place, number in enumerate(draft.visits, start=1)}
    chooser = f"visit_of_{draft.serial}"
    if st.session_state.get(chooser) not in words:
        st.session_state[chooser] = draft.visits[-1] if draft.visits else None
    if words:
        st.selectbox("Visit", list(words), format_func=lambda number: words.get(number, ""), key=chooser)
    number = st.session_state[chooser]
    with st.container(horizontal=True, key="visit_buttons"):
        st.button("Add a visit", key="add_visit", on_click=_add, args=(form, chooser))
        if number is not None:
            st.button("Duplicate", key="copy_visit", on_click=_copy, args=(form, chooser, number))
            st.button("Remove", key="drop_visit", on_click=draft.drop_visit, args=(number,))
    if number is not None:
        visit_form(form, ((number, ""),))


def _visit_words(form: Form, number: int, place: int) -> str:
    """Label of a visit in the chooser."""
    texts = [form.draft.text(("visit", number, name), form.system) for name in ("label", "date", "coil")]
    return f"{place}: {' · '.join(dict.fromkeys(text for text in texts if text)) or 'new visit'}"


def _add(form: Form, chooser: str) -> None:
    usual = {"coil": "as found", "date": dt.date.today().isoformat()}
    st.session_state[chooser] = form.draft.add_visit(usual, form.system)


def _copy(form: Form, chooser: str, number: int) -> None:
    st.session_state[chooser] = form.draft.copy_visit(number)
