"""Heat balance and doubted readings of a visit as figures, rows and sentences, for every screen."""

from typing import Any

from calibration.case.keys import words_of
from calibration.case.records import Visit
from calibration.case.units import CAPACITY, System
from calibration.diagnosis.doubted import Doubt
from calibration.diagnosis.heat_balance import AIR, REFRIGERANT, Difference
from calibration.diagnosis.visit_check import VisitCheck
from calibration.measured.performance import Estimate
from dashboard.results.figures import Figure, figure, of_quantity, percent, signed, to_json


def route_figures(check: VisitCheck, system: System) -> list[Figure]:
    """Coil's capacity by every route, with 90 % intervals; the clean unit's at this weather last."""
    balance = check.balance
    figures = [_capacity(name, one, system) for name, one in balance.capacities.items()]
    return [*figures, _capacity("clean unit, same weather", balance.clean, system)]


def _capacity(words: str, one: Estimate, system: System) -> Figure:
    base = of_quantity(
        words.replace(", ", " ").replace(" ", "_"), words.capitalize(), one.value, CAPACITY, system
    )
    low, high = (float(CAPACITY.from_si(end, system)) for end in one.interval(0.9))
    return Figure(base.key, base.label, base.value, base.unit, base.decimals, low, high)


def loss_figures(check: VisitCheck) -> list[Figure]:
    """Loss of the coil's capacity by every route and by all believed readings together, in %."""
    losses = {name: ("by the " + name, one) for name, one in check.balance.losses.items()}
    if check.supported_loss is not None:
        losses["believed readings"] = ("by all believed readings together", check.supported_loss)
    return [_percent(name.replace(" ", "_"), f"Loss {words}", one) for name, (words, one) in losses.items()]


def _percent(key: str, words: str, one: Estimate) -> Figure:
    low, high = one.interval(0.9)
    return Figure(key, words, 100 * one.value, "%", 0, 100 * low, 100 * high)


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


def doubt_rows(check: VisitCheck, visit: Visit, system: System) -> list[tuple[str, str, str, str, str]]:
    """Doubted readings: words, read, supported with interval, change in standard errors, share."""
    if check.consistency is None:
        return []
    rows = []
    for doubt in check.consistency.culprits:
        read, supported = doubt_figures(doubt, visit, system)
        rows.append(
            (
                read.heading,
                read.text,
                f"{supported.text} ({supported.interval_text})",
                signed(doubt.errors, 1),
                percent(doubt.share),
            )
        )
    return rows


def doubt_figures(doubt: Doubt, visit: Visit, system: System) -> tuple[Figure, Figure]:
    """A reading as it was read, and as the others support it with its 90 % interval."""
    pressure = visit.ambient_pressure
    supported = Estimate(doubt.supported, doubt.supported_error)
    return (
        figure(doubt.reading, doubt.measured, system, ambient_pressure=pressure),
        figure(
            doubt.reading,
            doubt.supported,
            system,
            interval=supported.interval(0.9),
            ambient_pressure=pressure,
        ),
    )


def sentences(check: VisitCheck, visit: Visit, system: System) -> list[str]:
    """What the heat balance and the readings say about each other, in plain words."""
    told = _doubt_sentences(check, visit, system)
    told += [_routes_sentence(check, system)] if check.balance.differences else []
    told += [f"{remark[0].upper()}{remark[1:]}." for remark in check.balance.remarks]
    told += [_airflow_sentence(check)] if check.balance.condenser_airflow is not None else []
    return [*told, _judge_sentence(check)]


def _doubt_sentences(check: VisitCheck, visit: Visit, system: System) -> list[str]:
    """Whether the readings can all be true, and what to take again."""
    told = [_overstated_sentence(check)] if check.air_side_overstates else []
    if check.consistency is None:
        return told
    if not check.consistency.sound:
        return [*told, *(_doubt_sentence(doubt, visit, system) for doubt in check.consistency.culprits)]
    if not check.air_side_overstates:
        return ["No reading has to be doubted: all can be true together."]
    first = check.consistency.doubts[0]
    return [*told, f"Repeat first: {words_of(first.reading)}; {first.check}."]


def _judge_sentence(check: VisitCheck) -> str:
    if not check.balance.fitted_to:
        return "Judged by the nameplate, for want of another clean visit: intervals are wide."
    return f"Judged by the unit as fitted to {', '.join(check.balance.fitted_to)}."


def _routes_sentence(check: VisitCheck, system: System) -> str:
    worst = max(check.balance.differences, key=lambda pair: abs(pair.errors))
    words, amount, errors = _difference(worst, system)
    how = "agree" if worst.agrees else "contradict each other"
    return f"The routes to the coil's capacity {how}: {words} is {amount}, {errors} joint standard errors."


def _airflow_sentence(check: VisitCheck) -> str:
    airflow = check.balance.condenser_airflow
    if airflow is None:
        return ""
    low, high = airflow.interval(0.9)
    return (
        f"The heat thrown off and the rise of the condenser's air mean {percent(airflow.value)} of the clean "
        f"airflow ({100 * max(low, 0):.0f} to {percent(high)})."
    )


def _overstated_sentence(check: VisitCheck) -> str:
    losses = check.balance.losses
    supported = check.supported_loss
    together = f", and all believed readings together {_share(supported)}" if supported is not None else ""
    return (
        f"By the air side {_share(losses[AIR])} of the coil's capacity is gone. The refrigerant side "
        f"supports only {_share(losses[REFRIGERANT])}{together}: do not act on the air side's loss before "
        "the doubted reading was taken again."
    )


def _share(one: Estimate) -> str:
    low, high = one.interval(0.9)
    return f"{percent(one.value)} ({100 * low:.0f} to {percent(high)})"


def _doubt_sentence(doubt: Doubt, visit: Visit, system: System) -> str:
    read, supported = doubt_figures(doubt, visit, system)
    return (
        f"{words_of(doubt.reading)} is doubted: {read.text} {read.unit} was read, all others support "
        f"{supported.text} {supported.unit} ({supported.interval_text}), a change of "
        f"{signed(doubt.errors, 1)} of its standard errors. Take it again; {doubt.check}."
    )


def check_json(check: VisitCheck, visit: Visit, system: System) -> dict[str, Any]:
    """Heat balance and doubted readings for `--json`."""
    balance = check.balance
    told: dict[str, Any] = {
        "capacities": to_json(route_figures(check, system)),
        "losses": to_json(loss_figures(check)),
        "differences": [
            {"first": pair.first, "second": pair.second, "joint_standard_errors": round(pair.errors, 6)}
            for pair in (*balance.differences, *([balance.power] if balance.power else []))
        ],
        "missing": {route: list(names) for route, names in balance.missing.items()},
        "fitted_to": list(balance.fitted_to),
        "sentences": sentences(check, visit, system),
    }
    if check.consistency is not None:
        told["sound"] = check.consistency.sound
        told["cause"] = check.consistency.fault
        told["doubted"] = [_doubt_json(doubt, visit, system) for doubt in check.consistency.culprits]
    return told


def _doubt_json(doubt: Doubt, visit: Visit, system: System) -> dict[str, Any]:
    read, supported = doubt_figures(doubt, visit, system)
    return {
        "reading": doubt.reading,
        "read": read.value,
        "supported": supported.value,
        "low": supported.low,
        "high": supported.high,
        "unit": read.unit,
        "standard_errors": round(doubt.errors, 6),
        "share": round(doubt.share, 6),
        "check": doubt.check,
    }
