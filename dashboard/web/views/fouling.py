"""What does fouling do? Sliders for the blocked share of the coil, the weather and other faults, live."""

from dataclasses import dataclass, replace
from math import ceil

import streamlit as st

from calibration.case.keys import find_key
from calibration.case.records import Case, Visit
from calibration.case.units import TEMPERATURE, System
from dashboard.charts import cycle_traces, style
from dashboard.charts.chart import Chart, Curve
from dashboard.charts.property_diagrams import pressure_enthalpy_chart
from dashboard.results.prediction import ChosenWeather, Level, weather_of
from dashboard.results.trip import with_trips
from dashboard.web import cached, fleet_page, screen, session
from dashboard.web.page_list import FOULING, links_onward
from dashboard.web.visit_chooser import visit_to_explain
from model.properties.refrigerant import refrigerant

LEAD = "Move the sliders to change fouling, weather and other faults. All figures follow for this unit."
HIGHEST_SHARE, USUAL_SHARE = 80, 30  # of the slider; its start where nothing is known [%]
OUTDOOR = {"US": (60.0, 120.0, 1.0), "SI": (16.0, 49.0, 0.5)}  # lowest, highest, step [degF], [degC]
OTHERS = {"charge_change": (-30, 30), "evaporator_airflow_lost": (0, 50)}  # further faults of the sliders [%]
SHOWN = (
    "liquid_pressure",
    "condensing_temperature",
    "discharge_temperature",
    "net_capacity",
    "total_power",
    "eer",
)
DRAWN = {"EER": "eer_change", "Capacity": "net_capacity_change", "Power": "total_power_change"}


@dataclass(frozen=True)
class Sliders:
    """Values of the sliders: weather, blocked share [-], other faults by the fields of `Faults`."""

    weather: ChosenWeather
    share: float
    others: dict[str, float]


def page() -> None:
    """Draw the page."""
    case, system = screen.unit_or_stop(FOULING, LEAD)
    visit = visit_to_explain(case)
    _live(case, visit, system)
    fleet_page.unit_note(session.workspace(), case.unit.name, case.unit.site, finding_only=True)
    screen.caution(case.unit.refrigerant)
    links_onward(FOULING)


@st.fragment
def _live(case: Case, visit: Visit | None, system: System) -> None:
    """Sliders and all that follows from them; redrawn without the rest of the page."""
    setting = _setting(case, visit, system)
    level = cached.level(case, setting.weather, setting.share, system, setting.others)
    changes = {one.key: one for one in level.changes}
    figures = {one.key: one for one in level.figures}
    screen.loss_strip(screen.lost_by(changes["eer_change"]), "of the clean unit's EER", "is lost")
    if figures["state"].text != "ok":
        st.warning(f"The unit would not keep running like this: {figures['state'].text}.")
    screen.tiles([figures[key] for key in SHOWN])
    trip = cached.trip_temperature(case, setting.weather, setting.share, system, setting.others)
    trip_share = cached.trip_share(case, setting.weather, system, setting.others)
    screen.points([trip.sentence, trip_share.sentence])
    wanted = st.segmented_control("Curve", list(DRAWN), default="EER", required=True, key="curve_wanted")
    marked = visit.label if visit and _is_fouled(case, visit) else None
    chart = cached.loss_chart(case, setting.weather, DRAWN[wanted or "EER"], marked)
    screen.draw(_with_slider(chart, setting.share, changes[DRAWN[wanted or "EER"]].value), "losses", 380)
    _cycle_diagram(case, level, system)
    clean = cached.level(case, setting.weather, 0.0, system, {})
    clean_trip = cached.trip_temperature(case, setting.weather, 0.0, system, {})
    level, clean = with_trips([level, clean], [trip, clean_trip])
    screen.figure_table("Change against the clean unit", [("change, 90 % range", level.changes)])
    screen.figure_table(
        f"At {setting.weather.words}", [("clean", clean.figures), (level.heading + " blocked", level.figures)]
    )


def _setting(case: Case, visit: Visit | None, system: System) -> Sliders:
    """The sliders, at first at what was found and in the weather of the visit."""
    label = visit.label if visit else ""
    best = round(100 * cached.finding(case, label).blocked.value) if _is_fouled(case, visit) else USUAL_SHARE
    share = st.slider(
        "Condenser face blocked [%]", 0, HIGHEST_SHARE, min(best, HIGHEST_SHARE), key=f"share_{label}"
    )
    weather = weather_of(case, visit)
    usual = round(float(TEMPERATURE.from_si(weather.settings["outdoor_db"], system)), 1)
    low, high, step = OUTDOOR[system]
    below, above = ceil(max(usual - low, 0.0) / step), ceil(max(high - usual, 0.0) / step)
    outdoor = st.slider(
        f"Outdoor air, dry bulb [{TEMPERATURE.label(system)}]",
        usual - below * step,
        usual + above * step,
        usual,
        step,
        format="%.1f",
        key=f"outdoor_{label}_{system}",
    )
    if outdoor != usual:
        weather = weather_of(case, visit, {"outdoor_db": float(TEMPERATURE.to_si(outdoor, system))})
    return Sliders(weather, share / 100.0, _other_faults())


def _is_fouled(case: Case, visit: Visit | None) -> bool:
    """Whether a visit says how dirty the condenser is."""
    return visit is not None and cached.finding(case, visit.label).shows_condenser


def _other_faults() -> dict[str, float]:
    """Sliders of faults beside the blocked face."""
    others = {}
    with st.expander("Other faults at the same time"):
        for name, (low, high) in OTHERS.items():
            key = find_key(name, "fault")
            words = key.words if key else name
            others[name] = st.slider(f"{words} [%]", low, high, 0, key=f"cause_{name}") / 100.0
    return {name: value for name, value in others.items() if value}


def _with_slider(chart: Chart, share: float, value: float | str | None) -> Chart:
    """The curve with the place of the sliders on it."""
    import numpy as np

    if not isinstance(value, float):
        return chart
    mark = Curve(
        np.array([100.0 * share]), np.array([value]), style.SECOND, "sliders", line=False, markers=True
    )
    return replace(chart, layers=(*chart.layers, mark))


def _cycle_diagram(case: Case, level: Level, system: System) -> None:
    """Pressure-enthalpy diagram of the clean unit and of the sliders' one in the same weather."""
    traces = [
        cycle_traces.expected_cycle(level.clean, style.CLEAN, "clean"),
        cycle_traces.expected_cycle(level.point, style.EXPECTED, f"{level.heading} blocked"),
    ]
    chart = pressure_enthalpy_chart(refrigerant(case.unit.refrigerant), traces, system)
    screen.draw(chart, "sliders_cycles", 460)


page()
