"""What more clean visits bring: the published tests fitted one, two and all together.

Nine fault-free tests of NISTIR 7350 (`calibration.studies.laboratory`). For each set of fitted tests: errors
on all nine, over what the project asks of each figure, and the mean width of the 90 % ranges. Errors
cannot fall under what the source's own two measurements of capacity disagree by.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from calibration.case.meters import Instruments
from calibration.clean_fit.baseline import fit_baseline
from calibration.clean_fit.observation import conditions, observation
from calibration.clean_fit.prediction import predicted
from calibration.studies.laboratory import (
    DESCRIPTION,
    QUANTITIES,
    TABLE,
    errors_on,
    laboratory_rows,
    laboratory_visit,
)
from model.maintenance.growth import NORMAL_95
from model.properties.moist_air import STANDARD_PRESSURE

WIDTHS = (
    "net_capacity",
    "total_power",
    "eer",
    "suction_pressure",
    "liquid_pressure",
    "superheat",
    "subcooling",
    "discharge_temperature",
)
"""Predicted figures whose interval is shown."""
ABSOLUTE = ("superheat", "subcooling", "discharge_temperature")
"""Those whose width is in K; the others are over the figure itself."""
NORMAL_WIDTH = 2.0 * NORMAL_95
"""Width of a 90 % range in standard errors [-]."""


@dataclass(frozen=True)
class VisitsStep:
    """One set of fitted tests.

    Attributes
    ----------
    fitted : tuple of str
    errors : dict of str to float
        Root mean square over all tests of each of `laboratory.QUANTITIES`, in its unit.
    overall : float
        Root mean square of those over the requirement of each [-].
    widths : dict of str to float
        Mean width of the 90 % range of each of `WIDTHS`: over the figure [-], or in K.
    """

    fitted: tuple[str, ...]
    errors: dict[str, float]
    overall: float
    widths: dict[str, float]


def visits_study(
    sets: Sequence[Sequence[int]] = ((5,), (5, 8), ()),
    instruments: Instruments | None = None,
    path: Path = TABLE,
    progress: Callable[[float], None] | None = None,
) -> tuple[VisitsStep, ...]:
    """Errors and widths for each set of fitted tests, in the order given.

    Parameters
    ----------
    sets : sequence of sequences of int
        Numbers of tests; an empty one means all.
    instruments : Instruments, optional
        Meters that the tests are assumed to be read with; the documented field meters if not given.
    path : Path
        The published table.
    progress : callable, optional
        Called with the share done [-].

    Returns
    -------
    tuple of VisitsStep

    Raises
    ------
    ValueError
        Where a number is not a test of the table.
    """
    meters = instruments or Instruments()
    rows = laboratory_rows(path)
    visits = {int(row["test"]): laboratory_visit(row) for row in rows}
    seen = [observation(visit, meters) for visit in visits.values()]
    settings = {name: np.array([one.settings[name] for one in seen]) for name in seen[0].settings}
    weather = conditions(settings, STANDARD_PRESSURE)
    steps = []
    for place, chosen in enumerate(sets):
        unknown = [number for number in chosen if number not in visits]
        if unknown:
            raise ValueError(f"test must be one of {', '.join(map(str, visits))}, got {unknown[0]}")
        fitted = [visits[number] for number in (chosen or visits)]
        baseline = fit_baseline(DESCRIPTION, fitted, meters, rated=False)
        found = errors_on(baseline, rows, list(visits.values()), [False] * len(visits))
        wanted = [found.root_mean_square[one.name] / one.wanted for one in QUANTITIES]
        prediction = predicted(baseline, weather)
        widths = {}
        for name in WIDTHS:
            scale = 1.0 if name in ABSOLUTE else np.asarray(getattr(prediction.point, name))
            widths[name] = float(np.mean(NORMAL_WIDTH * prediction.standard_errors[name] / scale))
        overall = float(np.sqrt(np.mean(np.square(wanted))))
        steps.append(
            VisitsStep(tuple(visit.label for visit in fitted), found.root_mean_square, overall, widths)
        )
        if progress is not None:
            progress((place + 1) / len(sets))
    return tuple(steps)
