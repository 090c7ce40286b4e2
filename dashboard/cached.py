"""Heavy work of the pages, kept by its content: the same readings are never fitted twice.

The keys are the frozen dataclasses of a case, cut down to what a result depends on, so that one person's unit
can never be shown in place of another's, and a change of price does not fit the unit again.
"""

import hashlib
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import streamlit as st

from calibration import baseline as fit
from calibration import comparison as compare
from calibration.baseline import Baseline
from calibration.case import Case
from calibration.case_faults import CaseError
from calibration.case_file import read_case
from calibration.comparison import Comparison
from calibration.log_file import read_log
from calibration.performance import MeasuredPerformance, measured_performance
from calibration.settling import settled_record
from calibration.units import System
from dashboard import loss_charts, predicted, report, settled, trace_chart
from dashboard.chart import Chart
from dashboard.costs import Costs, case_costs
from dashboard.predicted import Level, Weather
from dashboard.workspace import Entry, Workspace
from model import cycle
from model.causes import Causes
from model.cycle import OperatingPoint

FEW, MANY = 48, 512
"""Results kept of each kind: whole fits and comparisons; small ones."""


@st.cache_data(max_entries=FEW, show_spinner=False)
def case_of_file(path: Path, version: str) -> Case:
    """Case of a file; `version` is the fingerprint of its content."""
    return read_case(path)


@st.cache_data(max_entries=8, show_spinner=False)
def entries(folder: Path, stamps: tuple[tuple[str, int, int], ...]) -> list[Entry]:
    """Units of a workspace; `stamps` tells whether anything changed."""
    return Workspace(folder).entries() if stamps else []


def _bare(case: Case) -> Case:
    """What the clean fit depends on: unit, clean visits, meters."""
    return replace(case, visits=case.clean_visits, season=None, cleaning=None, source=None, remarks=())


def performances(case: Case) -> list[MeasuredPerformance]:
    """Measured performance of every visit."""
    return _performances(replace(case, season=None, cleaning=None, source=None, remarks=()))


@st.cache_data(max_entries=FEW, show_spinner="Working out the readings …")
def _performances(case: Case) -> list[MeasuredPerformance]:
    return [measured_performance(visit, case.unit, case.instruments) for visit in case.visits]


def baseline(case: Case) -> Baseline:
    """Clean-coil fit of a case."""
    return _baseline(_bare(case))


@st.cache_data(max_entries=FEW, show_spinner="Fitting the clean unit …")
def _baseline(case: Case) -> Baseline:
    return fit.baseline_of(case)


def comparison(case: Case, label: str) -> Comparison:
    """One visit against the clean unit."""
    return _comparison(_bare(case), replace(case, visits=(case.visit(label),), season=None, cleaning=None))


@st.cache_data(max_entries=FEW, show_spinner="Comparing with the clean unit …")
def _comparison(clean: Case, found: Case) -> Comparison:
    return compare.compare_visit(found, found.visits[0], _baseline(clean))


def level(case: Case, weather: Weather, share: float, system: System, others: Mapping[str, float]) -> Level:
    """Prediction at one blocked share of the face, with other causes."""
    return _level(_bare(case), weather, share, system, dict(others))


@st.cache_data(max_entries=MANY, show_spinner=False)
def _level(case: Case, weather: Weather, share: float, system: System, others: dict[str, float]) -> Level:
    return predicted.fouling_levels(_baseline(case), weather, [share], system, others)[0]


def loss_chart(case: Case, weather: Weather, key: str, found: str | None) -> Chart:
    """Change of one figure against the blocked share, with the best fouling of a visit marked."""
    return _loss_chart(_bare(case), weather, key, comparison(case, found) if found else None)


@st.cache_data(max_entries=FEW, show_spinner="Drawing the losses …")
def _loss_chart(case: Case, weather: Weather, key: str, found: Comparison | None) -> Chart:
    return loss_charts.loss_chart(_baseline(case), weather, key, found)


def point(case: Case, weather: Weather, share: float, others: Mapping[str, float]) -> OperatingPoint:
    """Operating point of the fitted unit at one blocked share of the face, with other causes."""
    return _point(_bare(case), weather, share, dict(others))


@st.cache_data(max_entries=MANY, show_spinner=False)
def _point(case: Case, weather: Weather, share: float, others: dict[str, float]) -> OperatingPoint:
    causes = Causes(**(others | {"condenser_blocked": share}))
    return cycle.solve(_baseline(case).unit, weather.conditions, causes)


@dataclass(frozen=True)
class LogFindings:
    """What a log says, without the log itself, which may be long.

    Attributes
    ----------
    sentences : list of str
        What was read, and whether it has settled.
    stillnesses : list of Stillness
        Each reading over the stretch.
    chart : Chart
        Every reading over time.
    visit : dict or None
        The averages as entries of a visit; None where they make none.
    """

    sentences: list[str]
    stillnesses: list[settled.Stillness]
    chart: Chart
    visit: dict[str, Any] | None


def settled_log(content: bytes, name: str, system: System, ambient_pressure: float) -> LogFindings:
    """What a log says about settled readings."""
    return _settled_log(hashlib.sha256(content).hexdigest(), system, ambient_pressure, content, name)


@st.cache_data(max_entries=8, show_spinner="Reading the log …")
def _settled_log(
    digest: str, system: System, ambient_pressure: float, _content: bytes, _name: str
) -> LogFindings:
    """`digest` stands for the content, which is not hashed a second time."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        path.write_bytes(_content)
        try:
            log = read_log(path, system, ambient_pressure)
        except CaseError as error:
            named = [replace(one, place=one.place.replace(str(path), _name)) for one in error.faults]
            raise CaseError(named) from error
    record = settled_record(log)
    return LogFindings(
        list(settled.sentences(record, log, system)),
        settled.stillnesses(record, log, system),
        trace_chart.trace_chart(record, log, system),
        settled.visit_table(record, log, system),
    )


def costs(case: Case, today: date | None = None) -> Costs:
    """What the fouling costs and when to clean, with a bar while it is worked out."""
    kept = _kept_costs(replace(case, remarks=()), today, _weather_stamps(case))
    if not kept:
        words = "Simulating years of weather, pricing cleanings …"
        bar = st.progress(0.0, words)

        def tell(share: float) -> None:
            bar.progress(min(share, 1.0), words)

        try:
            kept.append(case_costs(case, baseline(case), today, tell))
        finally:
            bar.empty()
    return kept[0]


@st.cache_resource(max_entries=FEW, show_spinner=False)
def _kept_costs(case: Case, today: date | None, stamps: tuple[tuple[str, int, int], ...]) -> list[Costs]:
    """An empty place for the costs of a case: a bar cannot be drawn from inside a cached function."""
    return []


def _weather_stamps(case: Case) -> tuple[tuple[str, int, int], ...]:
    """Size and time of the files of weather and load beside the case file."""
    named = (case.season.weather, case.season.load_file) if case.season and case.source else ()
    stamps = []
    for name in named:
        file = case.source.parent / name if name and case.source else None
        if file is not None and file.is_file():
            found = file.stat()
            stamps.append((str(file), found.st_mtime_ns, found.st_size))
    return tuple(stamps)


def report_file(case: Case, label: str, ending: str, system: System) -> bytes:
    """The printed report of one visit as a file, `ending` being .pdf or .html."""
    return _report_file(replace(case, source=None, remarks=()), label, ending, system)


@st.cache_data(max_entries=16, show_spinner="Printing the report …")
def _report_file(case: Case, label: str, ending: str, system: System) -> bytes:
    content = report.comparison_report(case, baseline(case), comparison(case, label), system)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"report{ending}"
        report.write_report(content, path, case.visit(label).date, system)
        return path.read_bytes()
