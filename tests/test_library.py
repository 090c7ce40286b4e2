"""What the packages offer to others: every name is there, documented, and costs nothing until it is used."""

import inspect
import json
import subprocess
import sys
from pathlib import Path

import pytest

import calibration
import model
from tests.conftest import HANGING

ROOT = Path(__file__).resolve().parents[1]
OFFERED = [(package, name) for package in (model, calibration) for name in package.__all__]


@pytest.mark.parametrize(("package", "name"), OFFERED, ids=lambda one: getattr(one, "__name__", one))
def test_every_name_is_there_and_says_what_it_is(package, name):
    there = getattr(package, name)
    assert name in dir(package)
    if inspect.isfunction(there) or inspect.isclass(there):
        assert there.__module__ == package.HOMES[name]
        assert len(inspect.getdoc(there) or "") > 30


@pytest.mark.parametrize("package", [model, calibration])
def test_another_name_is_an_error_that_names_it(package):
    with pytest.raises(AttributeError, match="no attribute 'sovle'"):
        _ = package.sovle


def test_importing_the_packages_loads_nothing_else():
    words = "import sys, json, model, calibration; print(json.dumps(sorted(sys.modules)))"
    done = subprocess.run(
        [sys.executable, "-c", words], cwd=ROOT, capture_output=True, text=True, timeout=HANGING, check=True
    )
    loaded = set(json.loads(done.stdout))
    assert {"model", "calibration"} <= loaded
    assert not loaded & {"numpy", "scipy", "pandas", "pydantic", "CoolProp"}
