"""The fits and findings of a test run: what was worked out once in this process is not worked out again.

A unit of one description, clean visits of one content and the same meters have one fit; a case and a visit of
the same content, by the same meters, prices and fitted unit, have one finding. Dozens of tests of commands,
pages, charts and reports look at those of the demo. The file that a case was read from is no part of its
content. A test that calls the fit itself gets a fit of its own.
"""

import importlib
import pickle
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import cache, wraps
from typing import Any

from calibration.clean_fit import baseline
from calibration.diagnosis import finding


def remember() -> None:
    """Put a remembering `find` and `fit_baseline` into every module that has the plain ones.

    Only tests keep the plain fit.
    """
    for module in list(sys.modules.values()):
        names = getattr(module, "__dict__", {})
        if names.get("find") is PLAIN_FIND:
            module.find = REMEMBERING_FIND
        if names.get("fit_baseline") is PLAIN_FIT and not module.__name__.startswith("tests."):
            module.fit_baseline = REMEMBERING_FIT
    _scan_packages_once()


def _scan_packages_once() -> None:
    """Else the first run of each page reads what all installed packages say of themselves."""
    if "streamlit.testing" in sys.modules:
        scanner = importlib.import_module("streamlit.components.v2.manifest_scanner")
        scanner.scan_component_manifests = cache(scanner.scan_component_manifests)


def remembered(plain: Callable[..., Any], content: Callable[..., object]) -> Callable[..., Any]:
    """The same function, which works out each content of its arguments once."""
    found: dict[bytes, Any] = {}

    @wraps(plain)
    def once(*given: Any, **known: Any) -> Any:
        key = pickle.dumps((content(*given), sorted(known.items())))
        if key not in found:
            found[key] = plain(*given, **known)
        return found[key]

    return once


def of_a_case(case: Any, visit: Any) -> object:
    """What of a case and a visit a finding depends on."""
    return replace(case, source=None, remarks=()), visit


def _as_given(*given: Any) -> object:
    return given


PLAIN_FIND, PLAIN_FIT = finding.find, baseline.fit_baseline
REMEMBERING_FIND = remembered(PLAIN_FIND, of_a_case)
REMEMBERING_FIT = remembered(PLAIN_FIT, _as_given)
