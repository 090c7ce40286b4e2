"""Fits, findings, points and pictures of a test run: what was worked out once is not worked out again.

A unit of one description, clean visits of one content and the same meters have one fit; a case and a visit
of the same content, by the same meters, prices and fitted unit, have one finding; a chart of one content has
one picture of a size; operating points of one unit, conditions, faults and start are solved once for what is
above the model, whose own tests solve each time. Dozens of tests of commands, pages, charts and reports look
at those of the demo. Names, the id of a case, the file that it was read from and who its report names are no
part of its content. A test that calls the fit itself gets a fit of its own, and in one that uses
`worked_out_anew` nothing is remembered.
"""

import importlib
import pickle
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import cache, wraps
from hashlib import sha256
from typing import Any

import numpy as np

from calibration.clean_fit import baseline
from calibration.diagnosis import finding
from dashboard.charts import draw_svg
from model.cycle import solve as cycle


def remember() -> None:
    """Put a remembering `find` and `fit_baseline` into every module that has the plain ones.

    Only tests keep the plain fit.
    """
    for module in list(sys.modules.values()):
        names = getattr(module, "__dict__", {})
        if names.get("find") is PLAIN_FIND:
            module.find = REMEMBERING_FIND
        if names.get("solve") is PLAIN_SOLVE and module.__name__.startswith(("calibration.", "dashboard.")):
            module.solve = REMEMBERING_SOLVE
        if names.get("fit_baseline") is PLAIN_FIT and not module.__name__.startswith("tests."):
            module.fit_baseline = REMEMBERING_FIT
    draw_svg._picture = REMEMBERING_PICTURE
    _scan_packages_once()


def _scan_packages_once() -> None:
    """Else the first run of each page reads what all installed packages say of themselves."""
    if "streamlit.testing" in sys.modules:
        scanner = importlib.import_module("streamlit.components.v2.manifest_scanner")
        scanner.scan_component_manifests = cache(scanner.scan_component_manifests)


def remembered(plain: Callable[..., Any], content: Callable[..., object]) -> Callable[..., Any]:
    """The same function, which works out each content of its arguments once."""
    found: dict[object, Any] = {}

    @wraps(plain)
    def once(*given: Any, **known: Any) -> Any:
        if ANEW:
            return plain(*given, **known)
        key = content(*given), pickle.dumps(sorted(known.items()))
        if key not in found:
            found[key] = plain(*given, **known)
        return found[key]

    return once


def of_a_case(case: Any, visit: Any) -> str:
    """What of a case and a visit a finding depends on; `repr` leaves neither a digit nor a field out."""
    return repr((replace(case, unit=_unnamed(case.unit), source=None, remarks=(), report=None), visit))


def of_a_fit(description: Any, visits: Any = (), instruments: Any = None) -> str:
    """What of a unit and its clean visits a fit depends on."""
    return repr((_unnamed(description), tuple(visits), instruments))


def _unnamed(description: Any) -> Any:
    return replace(description, name="", site="")


def points_of(*given: Any) -> bytes:
    """What operating points depend on: unit, conditions, faults, start."""
    return sha256(pickle.dumps(given)).digest()


def _fixed(*given: Any, **known: Any) -> Any:
    """Operating points that nobody can change: others have the same."""
    found = PLAIN_SOLVE(*given, **known)
    for values in vars(found).values():
        if isinstance(values, np.ndarray):
            values.flags.writeable = False
    return found


def _drawn(chart: Any, size: Any) -> bytes:
    return pickle.dumps((chart, size))


ANEW: list[bool] = []
"""Not empty while everything is to be worked out each time."""
PLAIN_FIND, PLAIN_FIT, PLAIN_SOLVE = finding.find, baseline.fit_baseline, cycle.solve
REMEMBERING_FIND = remembered(PLAIN_FIND, of_a_case)
REMEMBERING_FIT = remembered(PLAIN_FIT, of_a_fit)
REMEMBERING_SOLVE = remembered(_fixed, points_of)
REMEMBERING_PICTURE = remembered(draw_svg._picture, _drawn)
