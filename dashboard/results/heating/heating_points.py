"""A heat pump's winter as figures: nameplate beside the fit, and what a fouled outdoor coil costs."""

from collections.abc import Sequence
from typing import Any

from calibration.case.keys import find_key
from calibration.case.units import CAPACITY, COEFFICIENT, PERCENT, POWER, TEMPERATURE, System
from calibration.estimate import Estimate
from calibration.heating.heating_fit import HeatingFit
from calibration.heating.heating_losses import HeatingAt
from dashboard.results.figures import Figure, figure, of_quantity, percent, to_json

FROST_GROUND = (
    "Frost and defrost: 10 % of the heat at 35/33 degF as in AHRI 210/240, carried to other weather by the "
    "frost that the coil gathers. No figure for a fouled outdoor coil is published: the ranges span from no "
    "effect of the lost air to one in proportion to the number of defrosts."
)
"""What the frost losses rest on."""


def rating_rows(fit: HeatingFit, system: System) -> list[tuple[Figure, Figure]]:
    """Heating figures of the nameplate beside the fit's."""
    rows = []
    for one in fit.ratings:
        key = find_key(one.key, "unit")
        assert key is not None
        assert key.quantity is not None
        rated = of_quantity(one.key, key.words, one.rated, key.quantity, system)
        rows.append((rated, of_quantity(one.key, key.words, one.fitted, key.quantity, system)))
    return rows


def outdoor_words(outdoor: float, system: System) -> str:
    """An outdoor temperature in words."""
    shown = figure("outdoor_db", outdoor, system)
    return f"{shown.text} {shown.unit} outdoors"


def share_words(blocked: float) -> str:
    """Heading of a blocked share."""
    return "clean" if blocked == 0.0 else percent(blocked)


def loss_figures(one: HeatingAt, system: System) -> list[Figure]:
    """Figures of one blocked share at one outdoor temperature; changes only of a blocked coil."""

    def ranged(key: str, words: str, value: Estimate, quantity: Any) -> Figure:
        return of_quantity(key, words, value.value, quantity, system, interval=value.ends)

    rows = [
        ranged("heating_capacity", "Heating capacity", one.capacity, CAPACITY),
        ranged("total_power", "Total power", one.power, POWER),
        ranged("heating_cop", "COP", one.cop, COEFFICIENT),
        ranged("frost_loss", "Taken by frost and defrost", one.frost_loss, PERCENT),
    ]
    if one.blocked > 0.0:
        rows += [
            ranged("heating_capacity_change", "Change of capacity", one.capacity_change, PERCENT),
            ranged("heating_cop_change", "Change of COP", one.cop_change, PERCENT),
        ]
    if one.state not in ("ok", "frost forms"):
        rows.append(Figure("state", "State", one.state))
    return rows


def loss_tables(
    losses: Sequence[Sequence[HeatingAt]], system: System
) -> list[tuple[str, list[tuple[str, list[Figure]]]]]:
    """One table for each outdoor temperature, a column for each blocked share."""
    return [
        (
            f"At {outdoor_words(shares[0].outdoor, system)}, by blocked share of the outdoor coil's face",
            [(share_words(one.blocked), loss_figures(one, system)) for one in shares],
        )
        for shares in losses
    ]


def heating_json(fit: HeatingFit, losses: Sequence[Sequence[HeatingAt]], system: System) -> dict[str, Any]:
    """The same for `--json`."""
    rows = rating_rows(fit, system)
    return {
        "nameplate": {rated.key: to_json([rated])[rated.key] for rated, _ in rows},
        "fitted": {fitted.key: to_json([fitted])[fitted.key] for _, fitted in rows},
        "weather": [
            {
                **to_json([of_quantity("outdoor_db", "", shares[0].outdoor, TEMPERATURE, system)]),
                "shares": [
                    {"blocked": round(100.0 * one.blocked, 6), "state": one.state}
                    | to_json(row for row in loss_figures(one, system) if row.key != "state")
                    for one in shares
                ],
            }
            for shares in losses
        ],
    }
