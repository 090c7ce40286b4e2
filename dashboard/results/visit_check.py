"""Heat balance and suspect readings of a visit as figures, rows and sentences, for every screen."""

from typing import Any

from calibration.case.units import CAPACITY, PERCENT, System
from calibration.diagnosis.heat_balance import AIR, REFRIGERANT, Difference, HeatBalance
from calibration.diagnosis.visit_check import VisitCheck
from calibration.estimate import Estimate
from dashboard.results.figures import (
    Figure,
    of_estimate,
    of_quantity,
    percent,
    signed,
    to_json,
    with_supported,
)
from dashboard.results.match import spanned
from dashboard.results.suspect_readings import brief_suspects, suspect_sentences, suspects_json


def route_figures(check: VisitCheck, system: System) -> list[Figure]:
    """Coil's capacity by every route, with 90 % ranges; the clean unit's at this weather last.

    A route that a suspect reading is part of stands beside the same with the supported value.
    """
    read, supported = (_routes(balance, system) for balance in (check.balance, check.supported))
    return with_supported(read, supported)


def _routes(balance: HeatBalance, system: System) -> list[Figure]:
    figures = [_capacity(name, one, system) for name, one in balance.capacities.items()]
    return [*figures, _capacity("clean unit, same weather", balance.clean, system)]


def _capacity(words: str, one: Estimate, system: System) -> Figure:
    base = of_quantity(
        words.replace(", ", " ").replace(" ", "_"), words.capitalize(), one.value, CAPACITY, system
    )
    low, high = (float(CAPACITY.from_si(end, system)) for end in one.ends)
    return Figure(base.key, base.label, base.value, base.unit, base.decimals, low, high)


def loss_figures(check: VisitCheck) -> list[Figure]:
    """Loss of the coil's capacity by every route, and by all readings together, in %.

    A route that a suspect reading is part of stands beside the same with the supported value.
    """
    read, supported = (_losses(balance) for balance in (check.balance, check.supported))
    figures = with_supported(read, supported)
    if check.supported_loss is not None:
        words = "Loss by all readings together"
        figures.append(of_estimate("believed_readings", words, check.supported_loss, PERCENT, "SI"))
    return figures


def _losses(balance: HeatBalance) -> list[Figure]:
    return [
        of_estimate(name.replace(" ", "_"), f"Loss by the {name}", one, PERCENT, "SI")
        for name, one in balance.losses.items()
    ]


def difference_rows(check: VisitCheck, system: System) -> list[tuple[str, str, str]]:
    """Every pair of routes: words, difference with its unit, joint standard errors."""
    balance = check.balance
    rows = [_difference(pair, system) for pair in balance.differences]
    if balance.power is not None:
        power = balance.power
        watts = f"{signed(power.difference.value, 0)} W"
        rows.append(("compressor's power as read less as its states say", watts, signed(power.errors, 1)))
    return rows


def _difference(pair: Difference, system: System) -> tuple[str, str, str]:
    value = float(CAPACITY.from_si(pair.difference.value, system))
    return (
        f"{pair.first} less {pair.second}",
        f"{signed(value, 0)} {CAPACITY.label(system)}",
        signed(pair.errors, 1),
    )


def sentences(check: VisitCheck, system: System) -> list[str]:
    """Whether the readings are consistent, each suspect one, and what the heat balance says."""
    first, *balance = short_sentences(check, system)
    if check.finding is None:
        return [first, *balance]
    return [first, *suspect_sentences(check.finding, system), *balance]


def short_sentences(check: VisitCheck, system: System) -> list[str]:
    """The same with the suspect readings by their names only; whether all is consistent comes first."""
    said = [brief_suspects(check.finding)] if check.finding is not None else []
    said += [_overstated_sentence(check)] if check.air_side_overstates else []
    said += [_routes_sentence(check, system)] if check.balance.differences else []
    said += [f"{remark[0].upper()}{remark[1:]}." for remark in check.balance.remarks]
    said += [_airflow_sentence(check)] if check.balance.condenser_airflow is not None else []
    return [*said, _judge_sentence(check)]


def _judge_sentence(check: VisitCheck) -> str:
    if not check.balance.fitted_to:
        return "Based on the nameplate only: ranges are wide."
    return f"Based on the unit as fitted to {', '.join(check.balance.fitted_to)}."


def _routes_sentence(check: VisitCheck, system: System) -> str:
    worst = max(check.balance.differences, key=lambda pair: abs(pair.errors))
    words, amount, errors = _difference(worst, system)
    how = "agree" if worst.agrees else "contradict each other"
    return f"The routes to the coil's capacity {how}: {words} is {amount}, {errors} joint standard errors."


def _airflow_sentence(check: VisitCheck) -> str:
    airflow = check.balance.condenser_airflow
    if airflow is None:
        return ""
    low, high = airflow.ends
    return (
        f"Heat rejection and air temperature rise imply {percent(airflow.value)} of the clean condenser's "
        f"airflow ({100 * max(low, 0):.0f} to {percent(high)})."
    )


def _overstated_sentence(check: VisitCheck) -> str:
    air, refrigerant = (spanned(check.balance.losses[route]) for route in (AIR, REFRIGERANT))
    together = ""
    if check.supported_loss is not None:
        together = f", all readings together {spanned(check.supported_loss)}"
    return (
        f"The air side shows {air} of the coil's capacity lost; the refrigerant side supports only"
        f" {refrigerant}{together}. Do not use the air side's loss until its readings have been repeated."
    )


def check_json(check: VisitCheck, system: System) -> dict[str, Any]:
    """Heat balance and suspect readings for `--json`."""
    balance = check.balance
    said: dict[str, Any] = {
        "capacities": to_json(route_figures(check, system)),
        "losses": to_json(loss_figures(check)),
        "differences": [
            {"first": pair.first, "second": pair.second, "joint_standard_errors": round(pair.errors, 6)}
            for pair in (*balance.differences, *([balance.power] if balance.power else []))
        ],
        "missing": {route: list(names) for route, names in balance.missing.items()},
        "fitted_to": list(balance.fitted_to),
        "sentences": sentences(check, system),
    }
    if check.finding is not None:
        said["verdict"] = check.finding.verdict
        said["suspect_readings"] = suspects_json(check.finding, system)
    return said
