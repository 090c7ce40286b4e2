"""Fields of the forms, made from the table of keys: label with unit, example, usual range, problem beside it.

A field is checked while it is typed in. A missing entry is marked only after a try to save. The words
under a label say where a reading is taken.
"""

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from dataclasses import field as default
from html import escape
from typing import Any

import streamlit as st

from calibration.case.entries import EARLIEST_YEAR, LATEST_YEAR, look_alikes
from calibration.case.errors import Path, number_text
from calibration.case.keys import Key, find_key
from calibration.case.typical_pressures import typical_pressure
from calibration.case.units import CAPACITY, GAUGE_PRESSURE, TEMPERATURE, TON, Scale, System
from calibration.case.written_units import written_units
from calibration.files.typical_years import BINS, MONTHLY_MEANS, TYPICAL_YEARS
from dashboard.web import screen, session
from dashboard.web.form.draft import Checked, Draft, key_at, number_in_system, shortest_text
from model.properties.moist_air import STANDARD_PRESSURE
from model.properties.refrigerant import KNOWN_REFRIGERANTS

TYPING_PAUSE = "500ms"  # after which what was typed is checked
MISSING = "is missing"  # how sentences about an empty field begin
HINTS = {
    "name": "any name",
    "rated_capacity": "cooling, from the nameplate",
    "rated_eer": "from the nameplate or the data sheet",
    "altitude": "for the air density",
    "outdoor_db": "in the shade, where air enters the condenser",
    "return_db": "where air enters the indoor coil",
    "supply_db": "mixed air after the indoor coil and the blower",
    "return_wb": "beside the return dry bulb; one of three ways to read humidity",
    "return_rh": "beside the return dry bulb; one of three ways to read humidity",
    "return_dewpoint": "beside the return dry bulb; one of three ways to read humidity",
    "supply_wb": "beside the supply dry bulb",
    "indoor_airflow": "as the meter shows it, at the density there",
    "indoor_airflow_standard": "of air of 1.204 kg/m3, 0.075 lb/ft3",
    "suction_pressure": "gauge, at the outdoor unit's large port",
    "liquid_pressure": "gauge, at the outdoor unit's small port",
    "discharge_pressure": "gauge, before the condenser, where there is a port",
    "suction_temperature": "pipe at the large port, probe under insulation",
    "liquid_temperature": "pipe at the small port, probe under insulation",
    "discharge_temperature": "pipe a hand's width from the compressor",
    "outdoor_power": "compressor and outdoor fan, wattmeter",
    "indoor_power": "blower, wattmeter",
    "condenser_leaving_db": "over the outdoor fan",
    "barometer": "at the site, not reduced to sea level",
    "charge": "from the nameplate",
    "settled_minutes": "steady running before the readings",
    "standing_pressure": "gauge, unit off and as warm as the air",
    "stages": "rising, such as 0.67, 1.0",
    "outdoor_fan_speeds": "only where it slows down with the compressor",
    "blower_speeds": "only where it slows down with the compressor",
    "months": "numbers, 1 to 12",
    "weather": "bins, monthly means, a typical year by name, or an hourly file",
    "monthly_means": "twelve, from January on, with commas; for monthly means",
    "daily_ranges": "mean of each day's highest less lowest; twelve, or one for all",
    "generation": "twelve, from January on, with commas, or one for all; with the price of what is exported",
    "demand_minutes": "15 or 30; left empty, an hour",
    "exceeded_1_percent": "of the year: the summer design temperature",
    "exceeded_99_percent": "of the year: the winter design temperature",
}
"""Where a number is found, by key."""


@dataclass(frozen=True)
class Form:
    """A draft on the screen.

    Attributes
    ----------
    draft : Draft
        What is typed.
    system : {"US", "SI"}
        Units of the screen.
    checked : Checked
        What it comes to, in these units.
    scales : mapping of str to Scale
        Units of the fields by kind of quantity, where they are not those of the system.
    """

    draft: Draft
    system: System
    checked: Checked
    scales: Mapping[str, Scale] = default(default_factory=dict)

    def scale(self, key: Key) -> Scale | None:
        """Unit in which a field is shown and typed; None for that of the system."""
        return self.scales.get(key.quantity.name) if key.quantity else None

    def unit(self, key: Key) -> str:
        """Label of that unit."""
        scale = self.scale(key)
        return scale.label if scale else key.quantity.label(self.system) if key.quantity else ""

    def label(self, key: Key) -> str:
        """Words of a field with its unit in brackets."""
        unit = self.unit(key)
        return f"{key.words} [{unit}]" if unit else key.words

    def problem(self, path: Path) -> str:
        """Sentence for one field, empty where nothing wrong is to be shown yet."""
        sentence = self.checked.problems.get(path, "")
        return "" if sentence.startswith(MISSING) and not self.draft.tried else in_words(sentence)


def in_words(sentence: str) -> str:
    """A sentence about a case file in words of a form: labels for keys, no quotes asked for."""

    def words(match: re.Match[str]) -> str:
        row = find_key(match[0])
        return f"“{row.words}”" if row else match[0]

    plain = sentence.replace("text in quotes", "text")
    return in_thousands(re.sub(r"\b[a-z]+(?:_[a-z]+)+\b", words, plain))


def in_thousands(text: str) -> str:
    """The same text with its long whole numbers parted at every thousand: 2,000,000."""
    return re.sub(r"(?<![\w.,])\d{5,15}(?![\w])", lambda match: f"{int(match[0]):,}", text)


def field(form: Form, path: Path) -> None:
    """One field with its label, its hint and what is wrong with it."""
    key = _key(path)
    st.html(_label(form, key, note_needed=True))
    _entry(form, path, form.label(key))
    _remarks(form, path)


def _key(path: Path) -> Key:
    key = key_at(path)
    if key is None:
        raise ValueError(f"path must be that of a field, got {path}")
    return key


def _label(form: Form, key: Key, note_needed: bool = False) -> str:
    """HTML of the label; where notes are needed an empty line replaces none, to keep fields level."""
    unit = form.unit(key)
    shown = f' <span class="u">[{escape(unit)}]</span>' if unit else ""
    star = ' <span class="u">(needed)</span>' if key.required else ""
    notes = [note for note in (HINTS.get(key.name, ""), _usual(form, key)) if note]
    small = f"<small>{escape('; '.join(notes))}</small>" if notes else ""
    if note_needed and not notes:
        small = '<small class="none">&nbsp;</small>'
    return f'<p class="ct-field">{escape(key.words)}{shown}{star}{small}</p>'


def _typical(form: Form, key: Key) -> tuple[float, float] | None:
    """Usual range of a reading [SI], of this refrigerant where it is a pressure."""
    refrigerant = form.draft.text(("unit", "refrigerant"), form.system)
    return typical_pressure(key.name, refrigerant) or key.typical


def _in_unit(form: Form, key: Key, value: float) -> float:
    """SI value in the unit of a field."""
    scale = form.scale(key)
    if scale is None or key.quantity is None:
        return key.quantity.from_si(value, form.system) if key.quantity else value
    return scale.from_si(value - STANDARD_PRESSURE if key.quantity.gauge else value)


def _usual(form: Form, key: Key) -> str:
    """Usual range in words, without the unit, which is in the label."""
    typical = _typical(form, key)
    if typical is None or key.quantity is None or key.form != "number":
        return ""
    of_what = form.draft.text(("unit", "refrigerant"), form.system) if typical != key.typical else ""
    digits = 2 if of_what else 3
    low, high = (float(f"{_in_unit(form, key, end):.{digits}g}") for end in typical)
    words = in_thousands(f"usually {number_text(low + 0.0)} to {number_text(high + 0.0)}")
    return f"{words} with {of_what}" if of_what else words


def _entry(form: Form, path: Path, label: str) -> None:
    """The widget of one field, with the label for those who cannot see."""
    key, scale = _key(path), form.scale(_key(path))
    kind = "number" if key.form == "number" else "f"
    name = f"{kind}{form.draft.serial}_{'_'.join(map(str, path))}_{scale.label if scale else form.system}"
    shown = form.draft.text(path, form.system, scale)
    common: dict[str, Any] = {
        "key": name,
        "label_visibility": "collapsed",
        "on_change": _take,
        "args": (form, path, name),
    }
    offered = {"refrigerant": KNOWN_REFRIGERANTS, "weather": (BINS, MONTHLY_MEANS, *TYPICAL_YEARS)}
    choices = offered.get(key.name, key.choices)
    if choices:
        _choose(label, shown, choices, key, common)
    elif key.form == "date" and (not shown or _date(shown)):
        st.session_state.setdefault(name, _date(shown))
        first, last = dt.date(EARLIEST_YEAR, 1, 1), dt.date(LATEST_YEAR, 12, 31)
        order = session.date_order(form.system)
        st.date_input(label, format=order, min_value=first, max_value=last, **common)
    else:
        st.session_state.setdefault(name, shown)
        example = f"e.g. {_example(form, key)}" if key.example is not None else ""
        st.text_input(label, placeholder=example, live=TYPING_PAUSE, autocomplete="off", **common)


def _choose(label: str, shown: str, choices: Sequence[str], key: Key, common: dict[str, Any]) -> None:
    """A list to choose from; for weather a file may be named too."""
    options = ["", *choices] if not key.required or shown not in choices else list(choices)
    is_open = key.name == "weather"
    if is_open and shown not in options:
        options.append(shown)
    st.session_state.setdefault(common["key"], shown if shown in options else "")
    st.selectbox(label, options, format_func=_choice_words, accept_new_options=is_open, **common)


def _date(text: str) -> dt.date | None:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        return None


def _example(form: Form, key: Key) -> str:
    """An example in the unit of the field."""
    scale = form.scale(key)
    if scale is None or not isinstance(key.example, float):
        return key.example_in(form.system)
    return f"{_in_unit(form, key, key.example):.{scale.decimals}f}"


def _choice_words(choice: str) -> str:
    return {"": "not specified", "true": "yes", "false": "no"}.get(choice, choice)


def _take(form: Form, path: Path, name: str) -> None:
    """Take what was typed into the draft; a bare number in a field with a unit of its own gets that unit."""
    text, scale = str(st.session_state.get(name) or "").strip(), form.scale(_key(path))
    if scale is not None and re.fullmatch(r"[+\-−\d.,\s]*\d[.,]?", text):
        text = f"{text} {scale.label}"
    form.draft.put(path, text, form.system)


def _remarks(form: Form, path: Path) -> None:
    """What is wrong with a field, or unusual about it, and a capacity in the trade's other units."""
    problem = form.problem(path)
    if problem:
        st.html(f'<p class="ct-fault" role="alert">{escape(problem[0].upper() + problem[1:])}.</p>')
        _offer_what_was_meant(form, path)
        return
    unusual = _unusual(form, path)
    if unusual:
        st.html(f'<p class="ct-unusual">{escape(unusual)}</p>')
    number, key = _number(form, path), _key(path)
    if number is not None and key.quantity is CAPACITY:
        watts = CAPACITY.to_si(number, form.system)
        shown = [f"{scale.from_si(watts):,.{scale.decimals}f} {scale.label}" for scale in CAPACITIES]
        st.html(f'<p class="ct-same">{escape(" = ".join(shown))}</p>')


CAPACITIES = (CAPACITY.us, Scale("tons", TON, decimals=1), Scale("kW", 1000.0, decimals=1))
"""Units in which a capacity is said back."""


def _number(form: Form, path: Path) -> float | None:
    """What was typed, in the unit of the system; None where it is no number."""
    key, typed = _key(path), form.draft.entries.get(path)
    if typed is None or key.quantity is None or key.form != "number":
        return None
    try:
        number = number_in_system(key, typed)
    except ValueError:
        return None
    return key.quantity.from_si(key.quantity.to_si(number, typed.system), form.system)


def _offer_what_was_meant(form: Form, path: Path) -> None:
    """Buttons for a number that is out of bounds but an ordinary one in another unit."""
    key, number = _key(path), _number(form, path)
    if number is None or key.quantity is None:
        return
    scale_shown = form.scale(key) or key.quantity.scale(form.system)
    for scale in look_alikes(key, key.quantity, number, form.system):
        value = scale.to_si(number)
        meant = shortest_text(float(f"{scale_shown.from_si(value):.6g}"))
        words = f"{number_text(number)} {scale.label}"
        if key.quantity is CAPACITY and scale.label != "tons":
            thousands = scale.label == "thousand Btu/h"
            words = f"{in_thousands(meant)} Btu/h" if thousands and form.system == "US" else words
            words = f"{words} ({value / TON:.3g} tons)"
        st.button(
            f"I mean {words}",
            key=f"meant{form.draft.serial}_{'_'.join(map(str, path))}_{scale.label}",
            on_click=_take_meant,
            args=(form, path, f"{meant} {scale_shown.label}"),
        )


def _take_meant(form: Form, path: Path, text: str) -> None:
    form.draft.put(path, text, form.system)
    form.draft.show_anew()


def _unusual(form: Form, path: Path) -> str:
    """A note on a number that is possible but unusual."""
    key, number = _key(path), _number(form, path)
    typical = _typical(form, key)
    if number is None or typical is None or key.quantity is None or path in form.checked.problems:
        return ""
    low, high = (key.quantity.from_si(end, form.system) for end in typical)
    slack = 1e-6 * (abs(low) + abs(high))
    return "" if low - slack <= number <= high + slack else f"Unusual ({_usual(form, key)}): please check"


def units_of_measure() -> dict[str, Scale]:
    """Units of pressures and temperatures that a technician's meters show, whatever the case is in."""
    found = {}
    with st.container(horizontal=True, key="meter_units"):
        for words, quantities in METER_UNITS.items():
            scales = {scale.label: scale for scale in written_units(quantities[0])}
            options = [AS_THE_CASE, *(label for label in scales if label in SHOWN_ON_METERS)]
            key = f"meter_{quantities[0].name.replace(' ', '_')}"
            chosen = st.segmented_control(
                words, options, default=AS_THE_CASE, key=key, required=True, persist_state="session"
            )
            if chosen in scales:
                found.update(dict.fromkeys((one.name for one in quantities), scales[chosen]))
    return found


METER_UNITS = {"Gauges read": (GAUGE_PRESSURE,), "Thermometers read": (TEMPERATURE,)}
AS_THE_CASE = "as the case"
SHOWN_ON_METERS = ("psi", "kPa", "bar", "degF", "degC")


def row(form: Form, name: str, visits: Sequence[tuple[int, str]]) -> None:
    """One reading of one or more visits, side by side under one label.

    Parameters
    ----------
    form : Form
        The draft on the screen.
    name : str
        Key of the reading.
    visits : sequence of (int, str)
        Number of each visit and the words that name its field.
    """
    key = _key(("visit", visits[0][0], name))
    with st.container(key=f"pair_{name}"):
        columns = st.columns([1.5, *(1.0 for _ in visits)])
        columns[0].html(_label(form, key))
        for column, (number, words) in zip(columns[1:], visits, strict=True):
            with column:
                _entry(form, ("visit", number, name), ", ".join(filter(None, (form.label(key), words))))
                _remarks(form, ("visit", number, name))


def summary(form: Form) -> None:
    """After a try to save: how many fields are wrong, and what has no field."""
    if not form.draft.tried or form.checked.case is not None:
        return
    shown = [f"{_key(path).words}: {in_words(problem)}" for path, problem in form.checked.problems.items()]
    sentences = [*shown, *(in_words(one) for one in form.checked.others)]
    count = "1 entry" if len(sentences) == 1 else f"{len(sentences)} entries"
    screen.problems(f"Not saved. Please fix {count}:", sentences)
