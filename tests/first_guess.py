"""Fits the coefficients of the solver's first guess anew: `python -m tests.first_guess [points]`.

Points are drawn over the envelope of `calibration.studies.envelope` and over compressor speed and solved, and
the shift of each unknown from the unit's design point is regressed on the terms of `model.cycle.first_guess`.
Printed are the rows to put in `COEFFICIENTS` and, for the rows that stand there and for the new ones, how far
the guess is from the solution. Only iterations hang on it, never a result.
"""

import argparse
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from calibration.studies.envelope import drawn_points, situations
from model.arrays import Array
from model.components.expansion import ExpansionKind
from model.cycle.boundary import surroundings
from model.cycle.first_guess import COEFFICIENTS, influences, terms
from model.cycle.solve import STATE_CODES, solve
from model.properties.refrigerant import KNOWN_REFRIGERANTS, refrigerant

POINTS = 2000
"""For each refrigerant and device."""
SLOWEST, FASTEST = 0.3, 1.3
"""Compressor speeds drawn, over full speed [-]."""
RIDGE = 1e-6
"""Held to zero by so much where the points tell nothing of a term [-]."""
NAMES = (
    "evaporating temperature [K]",
    "ln of condensing approach [-]",
    "share of the evaporator that superheats [-]",
)


def shifts(name: str, device: ExpansionKind, points: int) -> tuple[Array, Array]:
    """Terms (28, n) and shifts (3, n) of the points of one refrigerant that are held at no limit."""
    unit, conditions, faults = situations(name, device, drawn_points(points))
    speed = np.random.default_rng(1).uniform(SLOWEST, FASTEST, points)
    conditions = replace(conditions, compressor_speed=speed)
    given, fluid = surroundings(unit, conditions, faults), refrigerant(name)
    point = solve(unit, conditions, faults)
    held_low = point.unknowns[0] < np.log(point.evaporator_pressure) - 1e-12
    held_high = point.unknowns[1] > 0.0
    free = (point.state != STATE_CODES["not converged"]) & ~held_low & ~held_high
    design = unit.start
    shift = np.array(
        [
            fluid.dew_temperature(np.exp(point.unknowns[0])) - design.evaporating,
            point.unknowns[1] - np.log(np.asarray(design.condensing_approach) / given.limit_approach),
            point.unknowns[2],
        ]
    )
    return terms(influences(unit, given))[:, free], shift[:, free]


def fitted(given: Array, shift: Array) -> Array:
    """Coefficients (3, 28) of least squares with a slight pull to zero."""
    square = given @ given.T + RIDGE * given.shape[1] * np.eye(len(given))
    return np.linalg.solve(square, given @ shift.T).T


def rows(coefficients: Array) -> str:
    """As they stand in the module: a constant, the influences, then the products by their first influence."""
    ends = np.cumsum([1, 6, 6, 5, 4, 3, 2, 1])[:-1]
    lines = []
    for row in coefficients:
        parts = [", ".join(f"{value:.3f}" for value in part) for part in np.split(row, ends)]
        lines.append("[" + ",\n ".join(parts) + "],")
    return "\n".join(lines)


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.split(":")[0])
    parser.add_argument("points", nargs="?", type=int, default=POINTS)
    points = parser.parse_args(arguments).points
    for device, standing in COEFFICIENTS.items():
        found = [shifts(name, device, points) for name in KNOWN_REFRIGERANTS]
        given, shift = (np.concatenate(parts, axis=1) for parts in zip(*found, strict=True))
        new = fitted(given, shift)
        print(f"{device}: {given.shape[1]} points\n{rows(new)}")
        for label, each in (("standing", standing), ("new", new)):
            missed = np.sqrt(((each @ given - shift) ** 2).mean(axis=1))
            told = "; ".join(f"{name} {value:.3f}" for name, value in zip(NAMES, missed, strict=True))
            print(f"{label} rows miss the solution by (root mean square): {told}")


if __name__ == "__main__":
    main()
