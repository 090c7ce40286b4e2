"""What to do about a fault that no cleaning of the condenser mends.

Common practice, no source. Nothing here replaces the maker's instructions, local codes or the judgement of
the person at the unit.
"""

from calibration.diagnosis.hypotheses import in_a_sentence
from calibration.diagnosis.match import Match

STEPS = {
    "condenser_fan_slow": (
        "unit off and locked out, look at the outdoor fan's blade, motor, capacitor and direction of rotation"
    ),
    "indoor_airflow_low": (
        "look at filter, indoor coil, blower, dampers and registers, and read again before the charge is"
        " touched"
    ),
    "undercharge": (
        "a certified technician looks for the leak, mends it and weighs the charge in after the nameplate;"
        " topping up alone lets it out again"
    ),
    "overcharge": (
        "a certified technician recovers the charge and weighs it in after the nameplate; nothing is vented"
    ),
    "non_condensables": (
        "a certified technician recovers the charge, evacuates the circuit and weighs in fresh refrigerant"
    ),
    "liquid_line_restriction": (
        "a certified technician looks at drier, service valves, kinks of the line and the strainer before the"
        " expansion device"
    ),
    "compressor_leakage": (
        "a certified technician rules out every other fault, by the compressor's watts above all, before a"
        " compressor is changed"
    ),
    "valve_overfeed": (
        "check that the valve's bulb is strapped and insulated, or that the orifice is of the right size,"
        " before anything is changed"
    ),
}
"""By fault. A fouled coil has no entry: when a cleaning pays is worked out."""


def next_steps(match: Match) -> list[str]:
    """What to do about the faults that the readings match.

    Parameters
    ----------
    match : Match
        Of one visit.

    Returns
    -------
    list of str
        A sentence for each fault, and that no cleaning mends it; empty where none is claimed.
    """
    if match.verdict not in ("cause", "look-alikes"):
        return []
    matched = [fault for fault in STEPS if any(fault in name for name in match.group)]
    return [
        f"If it is {in_a_sentence(fault)}, cleaning does not mend it: {STEPS[fault]}." for fault in matched
    ]
