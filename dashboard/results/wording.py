"""The words for what a finding names by keys: faults, treatments, verdicts, readings to take or to check.

Keys are those of `model.cycle.faults.FAULTS`, `calibration.diagnosis.hypotheses` and `calibration.case.keys`;
every screen, the command line and the report take their words from here. How to take or to check a reading
and what to do about a fault: common practice, no source. Nothing here replaces the maker's instructions,
local codes or the judgement of the person at the unit; work on refrigerant and on live circuits is for
qualified people only.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

from calibration.case import keys
from calibration.diagnosis.hypotheses import FOULED_CONDENSER, NO_FAULT, NONE_OF_THESE
from calibration.diagnosis.visit_model import STANDING
from dashboard.texts.translate import tr

FAULTS: dict[str, str] = {
    "condenser_blocked": "blocked condenser face",
    "condenser_dust": "dust layer on the condenser",
    "condenser_fan_slow": "slow outdoor fan",
    "indoor_airflow_low": "low indoor airflow",
    "undercharge": "undercharge",
    "overcharge": "overcharge",
    "non_condensables": "non-condensables",
    "liquid_line_restriction": "liquid-line restriction",
    "compressor_leakage": "compressor leakage",
    "valve_overfeed": "overfeeding expansion device",
}
"""Each fault alone, as it stands in a table."""

_ARTICLES = {
    "condenser_blocked": "a",
    "condenser_dust": "a",
    "condenser_fan_slow": "a",
    "liquid_line_restriction": "a",
    "valve_overfeed": "an",
}
"""Faults that are things rather than states: a sentence says which one."""

FOULED = "fouled condenser coil"
"""A blocked face or a dust layer: what a cleaning removes."""

NEEDS: dict[str, str] = {
    "clean_condenser": FOULED,
    "repair_condenser_fan": "slow outdoor fan",
    "restore_indoor_airflow": "low indoor airflow",
    "repair_leak_and_charge": "undercharge",
    "recover_charge": "overcharge",
    "evacuate_and_recharge": "non-condensables",
    "replace_drier": "liquid-line restriction",
    "replace_compressor": "compressor leakage",
    "adjust_valve": "overfeeding expansion device",
}
"""What each treatment is needed for: the faults that are treated alike under one name."""

ACTS: dict[str, str] = {
    "clean_condenser": "clean the condenser coil, with the unit off and locked out",
    "repair_condenser_fan": (
        "with the unit off and locked out, check the outdoor fan's blade, motor, capacitor and direction of"
        " rotation"
    ),
    "restore_indoor_airflow": (
        "check filter, indoor coil, blower, dampers and registers, and take the readings again before anybody"
        " changes the charge"
    ),
    "repair_leak_and_charge": (
        "a certified technician finds and repairs the leak and weighs in the charge of the nameplate; topping"
        " up alone leaks out again"
    ),
    "recover_charge": (
        "a certified technician recovers the charge and weighs in that of the nameplate; nothing is vented"
    ),
    "evacuate_and_recharge": (
        "a certified technician recovers the charge, evacuates the circuit and weighs in fresh refrigerant"
    ),
    "replace_drier": (
        "a certified technician checks drier, service valves, kinks in the line and the strainer before the"
        " expansion device"
    ),
    "replace_compressor": (
        "a certified technician rules out every other fault, first of all by the compressor's power, before"
        " the compressor is replaced"
    ),
    "adjust_valve": (
        "check that the valve's bulb is strapped and insulated, or that the orifice has the right size,"
        " before anything is replaced"
    ),
}
"""What a person would do, as a sentence after a colon."""

CHECK_FIRST: dict[str, str] = {
    "clean_condenser": "Look at the condenser coil first",
    "repair_condenser_fan": "Check the fan motor first",
    "restore_indoor_airflow": "Check the filter first",
    "repair_leak_and_charge": "Check for a leak first",
    "recover_charge": "Check the charge first",
    "evacuate_and_recharge": "Check for non-condensables first",
    "replace_drier": "Check the drier first",
    "replace_compressor": "Check the compressor's power first",
    "adjust_valve": "Check the valve's bulb first",
}
"""A quick look at what is less probable, before the work on what is more so."""

VERDICTS: dict[str, str] = {
    "no_fault": "no fault found",
    "fault": "fault found",
    "inconclusive": "inconclusive",
    "none_of_these": "none of these faults",
}

_STEADY = "with the unit in steady state"
_PROBE = "strap a probe on {where}, bare and clean, and insulate it"
_SUPPLY = "in mixed air after coil and blower, out of sight of the coil"
_RETURN = "in the mixed return air before the coil"
_WICK = "keep the wick wet and the air moving until the reading stands still"
_AIRFLOW = "take a duct traverse, a flow grid or a flow hood"
_PANEL = "a qualified person opens the panel"
HOW: dict[str, str] = {
    "suction_pressure": f"gauge on the suction port, {_STEADY}",
    "liquid_pressure": f"gauge on the liquid port, {_STEADY}",
    "discharge_pressure": f"gauge on the discharge port, if there is one, {_STEADY}",
    "suction_temperature": _PROBE.format(where="a straight stretch of the suction pipe at the port"),
    "liquid_temperature": _PROBE.format(where="the liquid pipe at the port"),
    "discharge_temperature": _PROBE.format(where="the discharge pipe, a hand's breadth from the compressor"),
    "supply_db": f"dry bulb {_SUPPLY}, averaged over the duct",
    "supply_wb": f"wet bulb {_SUPPLY}; {_WICK}",
    "supply_rh": f"humidity {_SUPPLY}, beside the dry bulb",
    "supply_dewpoint": f"dew point {_SUPPLY}, beside the dry bulb",
    "condenser_leaving_db": "dry bulb over the fan's outlet, averaged around the ring, out of the sun",
    "outdoor_power": "wattmeter on the outdoor unit, all legs",
    "outdoor_fan_power": f"wattmeter on the outdoor fan alone; {_PANEL}",
    "compressor_power": f"wattmeter on the compressor alone; {_PANEL}",
    "indoor_power": "wattmeter on the indoor unit, all legs, heaters off",
    "indoor_airflow": _AIRFLOW,
    "indoor_airflow_standard": _AIRFLOW,
    STANDING: (
        "gauge on the liquid port with the unit off, once coil and pipes are as warm as the air around them;"
        " read that air's temperature too"
    ),
    "outdoor_db": "shaded dry bulb in the air that enters the condenser, on every open side",
    "return_db": f"dry bulb {_RETURN}",
    "return_wb": f"wet bulb {_RETURN}; {_WICK}",
    "return_rh": f"humidity {_RETURN}",
    "return_dewpoint": f"dew point {_RETURN}",
}
"""How to take each reading."""

_GAUGE = "check the gauge's zero in open air, and that the hose opens the valve core fully"
_PIPE = "check the probe: on bare, clean pipe, strapped tight, insulated and out of the sun"
_LEGS = "check that the meter takes in all legs and has the right ratio: half the power is one leg"
_TRAVERSE = "repeat the traverse, and check the duct's size"
CHECKS: dict[str, str] = {
    "suction_pressure": _GAUGE,
    "liquid_pressure": _GAUGE,
    "discharge_pressure": _GAUGE,
    STANDING: "check that the unit was off long enough for coil and pipes to reach the air's temperature",
    "suction_temperature": _PIPE,
    "liquid_temperature": _PIPE,
    "discharge_temperature": _PIPE,
    "outdoor_db": "check that the probe is shaded and in the air that enters the condenser",
    "return_db": "check that the probe hangs in mixed return air, away from the duct wall and from leaks",
    "supply_db": "check the probe: dry, in mixed air, out of sight of the cold coil, reading steady",
    "condenser_leaving_db": "average it around the fan's outlet: one point is not the mean",
    "return_wb": "check the wick: clean, wet with clean water, in moving air, reading steady",
    "supply_wb": "check the wick: clean, wet with clean water, in moving air, reading steady",
    "return_rh": "check the probe against a wet bulb, once it is as warm as the air",
    "supply_rh": "check the probe for drops: near saturation it reads high for a long time",
    "return_dewpoint": "check the dew-point probe against a wet bulb in the same air",
    "supply_dewpoint": "check the dew-point probe for drops from the coil, reading steady",
    "indoor_airflow": f"{_TRAVERSE} and the air density in use",
    "indoor_airflow_standard": f"{_TRAVERSE} and that the figure is for standard air",
    "outdoor_power": _LEGS,
    "compressor_power": f"{_LEGS}; and that it is the compressor's circuit alone",
    "outdoor_fan_power": "check that the meter is on the outdoor fan alone",
    "indoor_power": f"{_LEGS}; and that no heater is on the same circuit",
}
"""What to look at on a suspect reading."""

_FAN = (
    "read the outdoor fan's power, or its speed against the motor's plate: a slow fan draws far less power, a"
    " dirty coil hardly changes it"
)
SEPARATING_ACTS: dict[frozenset[str], str] = {
    frozenset(FOULED_CONDENSER): (
        "with the unit off and locked out, look through the fins with a lamp: seeds, leaves and grass cover"
        " the face, dust sits between the fins; the cleaning is the same"
    ),
    frozenset({"condenser_blocked", "condenser_fan_slow"}): _FAN,
    frozenset({"condenser_dust", "condenser_fan_slow"}): _FAN,
    frozenset({"overcharge", "non_condensables"}): (
        "before anybody recovers the charge, read the pressure with the unit off, once coil and pipes are as"
        " warm as the air around them: with non-condensables it stands above the saturation pressure at that"
        " temperature, with overcharge alone it does not"
    ),
    frozenset({"undercharge", "liquid_line_restriction"}): (
        "read the liquid pipe's temperature before and after the drier and along the line: past a restriction"
        " the pipe is colder"
    ),
    frozenset({"undercharge", "compressor_leakage"}): (
        "read the compressor's power: a leaking compressor draws nearly full power; or weigh the charge out"
        " and in again"
    ),
    frozenset({"indoor_airflow_low", "valve_overfeed"}): (
        "measure the indoor airflow, and check that the valve's bulb is strapped and insulated"
    ),
    frozenset({"overcharge", "valve_overfeed"}): (
        "read subcooling at another outdoor temperature, or weigh the charge out and in again"
    ),
}
"""What to do where no further reading separates two faults well."""


MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def words_of(name: str, section: str | None = None) -> str:
    """What a key is, in words for a label, as `calibration.case.keys.words_of`, in the language in use."""
    return tr(keys.words_of(name, section))


def explanation(key: str) -> str:
    """An explanation as it stands in a table.

    Parameters
    ----------
    key : str
        Of a fault, two faults joined by "+", `NO_FAULT` or `NONE_OF_THESE`.

    Returns
    -------
    str
        Such as "blocked condenser face + undercharge".
    """
    return " + ".join(tr(one) for one in _parts(key, articles=False))


def in_a_sentence(key: str) -> str:
    """An explanation as it stands in a sentence, with an article where English needs one.

    Parameters
    ----------
    key : str
        As in `explanation`.

    Returns
    -------
    str
        Such as "a blocked condenser face and undercharge".
    """
    return tr(" and ").join(tr(one) for one in _parts(key, articles=True))


def _parts(key: str, articles: bool) -> list[str]:
    """Words of the faults of an explanation, in English."""
    if key == NO_FAULT:
        return ["no fault"]
    if key == NONE_OF_THESE:
        return ["none of these"]
    return [with_article(fault) if articles else FAULTS[fault] for fault in key.split("+")]


def with_article(fault: str) -> str:
    """A fault with an article where English needs one, in English."""
    return f"{_ARTICLES[fault]} {FAULTS[fault]}" if fault in _ARTICLES else FAULTS[fault]


def need(treatment: str) -> str:
    """What a treatment is needed for, as it stands in a sentence.

    Parameters
    ----------
    treatment : str
        A value of `calibration.diagnosis.hypotheses.TREATMENTS`.

    Returns
    -------
    str
        Such as "a fouled condenser coil".
    """
    return tr(needed_with_article(treatment))


def needed_with_article(treatment: str) -> str:
    """What a treatment is needed for with an article where English needs one, in English."""
    words = NEEDS[treatment]
    fault = next((key for key, name in FAULTS.items() if name == words), "condenser_blocked")
    return f"{_ARTICLES[fault]} {words}" if fault in _ARTICLES else words


def separating_acts(keys: Iterable[str]) -> list[str]:
    """What to do to separate faults that look alike, one sentence for each two that have one.

    Parameters
    ----------
    keys : iterable of str
        Faults.

    Returns
    -------
    list of str
        Sentences without capital and full stop.
    """
    pairs = (frozenset(pair) for pair in combinations(sorted(set(keys)), 2))
    return list(dict.fromkeys(tr(SEPARATING_ACTS[pair]) for pair in pairs if pair in SEPARATING_ACTS))
