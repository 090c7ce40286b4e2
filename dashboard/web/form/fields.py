"""Fields of the forms, made from the table of keys: label with unit, example, usual range, problem beside it.

A field is checked while it is typed in. A missing entry is marked only after a try to save. The words
under a label say where a reading is taken.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import streamlit as st

from calibration.case.entries import number_of
from calibration.case.errors import Path, number_text
from calibration.case.keys import Key, find_key
from calibration.case.units import System
from calibration.files.typical_years import BINS, MONTHLY_MEANS, TYPICAL_YEARS
from dashboard.web import screen
from dashboard.web.form.draft import Checked, Draft, key_at
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
    "return_wb": "beside the return dry bulb",
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
    """

    draft: Draft
    system: System
    checked: Checked

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
    st.html(_label(key, form.system, note_needed=True))
    _entry(form, path, key.label(form.system))
    _remarks(form, path)


def _key(path: Path) -> Key:
    key = key_at(path)
    if key is None:
        raise ValueError(f"path must be that of a field, got {path}")
    return key


def _label(key: Key, system: System, note_needed: bool = False) -> str:
    """HTML of the label; where notes are needed an empty line replaces none, to keep fields level."""
    unit = key.quantity.label(system) if key.quantity else ""
    shown = f' <span class="u">[{escape(unit)}]</span>' if unit else ""
    star = ' <span class="u">(needed)</span>' if key.required else ""
    notes = [note for note in (HINTS.get(key.name, ""), _usual(key, system)) if note]
    small = f"<small>{escape('; '.join(notes))}</small>" if notes else ""
    if note_needed and not notes:
        small = '<small class="none">&nbsp;</small>'
    return f'<p class="ct-field">{escape(key.words)}{shown}{star}{small}</p>'


def _usual(key: Key, system: System) -> str:
    """Usual range in words, without the unit, which is in the label."""
    if key.typical is None or key.quantity is None or key.form != "number":
        return ""
    low, high = (float(f"{key.quantity.from_si(end, system):.3g}") for end in key.typical)
    return in_thousands(f"usually {number_text(low + 0.0)} to {number_text(high + 0.0)}")


def _entry(form: Form, path: Path, label: str) -> None:
    """The widget of one field, with the label for those who cannot see."""
    key = _key(path)
    name = f"f{form.draft.serial}_{'_'.join(map(str, path))}_{form.system}"
    shown = form.draft.text(path, form.system)
    offered = {"refrigerant": KNOWN_REFRIGERANTS, "weather": (BINS, MONTHLY_MEANS, *TYPICAL_YEARS)}
    choices = offered.get(key.name, key.choices)
    typed = (form.draft, path, name, form.system)
    if choices:
        options = ["", *choices] if not key.required or shown not in choices else list(choices)
        is_open = key.name == "weather"  # a file may be named too
        if is_open and shown not in options:
            options.append(shown)
        st.session_state.setdefault(name, shown if shown in options else "")
        st.selectbox(
            label,
            options,
            key=name,
            label_visibility="collapsed",
            format_func=_choice_words,
            accept_new_options=is_open,
            on_change=_take,
            args=typed,
        )
        return
    st.session_state.setdefault(name, shown)
    st.text_input(
        label,
        key=name,
        placeholder=f"e.g. {key.example_in(form.system)}" if key.example is not None else "",
        label_visibility="collapsed",
        live=TYPING_PAUSE,
        autocomplete="off",
        on_change=_take,
        args=typed,
    )


def _choice_words(choice: str) -> str:
    return {"": "not specified", "true": "yes", "false": "no"}.get(choice, choice)


def _take(draft: Draft, path: Path, name: str, system: System) -> None:
    """Take what was typed into the draft."""
    draft.put(path, str(st.session_state.get(name) or ""), system)


def _remarks(form: Form, path: Path) -> None:
    """What is wrong with a field, or unusual about it."""
    problem = form.problem(path)
    if problem:
        st.html(f'<p class="ct-fault" role="alert">{escape(problem[0].upper() + problem[1:])}.</p>')
        return
    unusual = _unusual(form, path)
    if unusual:
        st.html(f'<p class="ct-unusual">{escape(unusual)}</p>')


def _unusual(form: Form, path: Path) -> str:
    """A note on a number that is possible but unusual."""
    key, typed = _key(path), form.draft.entries.get(path)
    if typed is None or key.typical is None or key.quantity is None or path in form.checked.problems:
        return ""
    try:
        value = key.quantity.to_si(number_of(typed.text), typed.system)
        low, high = (key.quantity.from_si(end, form.system) for end in key.typical)
        number = key.quantity.from_si(value, form.system)
    except ValueError:
        return ""
    slack = 1e-6 * (abs(low) + abs(high))
    return (
        "" if low - slack <= number <= high + slack else f"Unusual ({_usual(key, form.system)}): please check"
    )


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
        columns[0].html(_label(key, form.system))
        for column, (number, words) in zip(columns[1:], visits, strict=True):
            with column:
                _entry(
                    form, ("visit", number, name), ", ".join(filter(None, (key.label(form.system), words)))
                )
                _remarks(form, ("visit", number, name))


def summary(form: Form) -> None:
    """After a try to save: how many fields are wrong, and what has no field."""
    if not form.draft.tried or form.checked.case is not None:
        return
    shown = [f"{_key(path).words}: {in_words(problem)}" for path, problem in form.checked.problems.items()]
    sentences = [*shown, *(in_words(one) for one in form.checked.others)]
    count = "1 entry" if len(sentences) == 1 else f"{len(sentences)} entries"
    screen.problems(f"Not saved. Please fix {count}:", sentences)
