"""Heavy work of the pages, kept by its content: the same readings are never fitted twice.

The keys are the frozen dataclasses of a case, cut down to what a result depends on, so that one person's unit
can never be shown in place of another's, and a change of price does not fit the unit again.
"""

import hashlib
import tempfile
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any, Literal, ParamSpec, TypeVar

import streamlit as st

from calibration.case.errors import CaseError
from calibration.case.file import read_case
from calibration.case.records import Case, Season, Visit
from calibration.case.units import System
from calibration.clean_fit import baseline as fit
from calibration.clean_fit.approach import ApproachExpected, approach_expected
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.observation import observation
from calibration.costs.case_costs import Costs, as_of_visit, case_costs
from calibration.diagnosis import comparison as compare
from calibration.diagnosis.comparison import Comparison
from calibration.diagnosis.finding import Finding, find
from calibration.diagnosis.same_weather import LikeForLike, like_for_like
from calibration.diagnosis.visit_check import VisitCheck, check_visit
from calibration.files.log_file import read_log
from calibration.fleet.crew_plan import CrewPlan, Terms, crew_plan
from calibration.fleet.jobs_to_plan import read_rows
from calibration.heating.heating_fit import heats
from calibration.heating.heating_match import HeatingFinding, heating_findings
from calibration.heating.heating_visit import HeatingMeasured, heating_measured
from calibration.measured.performance import MeasuredPerformance, measured_performance
from calibration.measured.steady_state import steady_record
from calibration.track import cleaning_day
from calibration.track.cleaning_day import TrackCosts
from calibration.track.kept import KeptTrack
from calibration.track.stretches import steady_stretches
from calibration.track.track import Track, fouling_track
from dashboard.charts import loss_charts, trace_chart
from dashboard.charts.chart import Chart
from dashboard.report import comparison_report as report
from dashboard.report.findings import visit_findings
from dashboard.results import prediction as predicted
from dashboard.results import steady_state
from dashboard.results import trip as trips
from dashboard.results.prediction import ChosenWeather, Level
from dashboard.results.trip import TripFigures, trip_temperatures
from dashboard.workspace import Entry, Titled, Workspace
from model.cycle.sizing import RATING_OUTDOOR

P = ParamSpec("P")
R = TypeVar("R")
FEW, MANY = 48, 512
"""Results kept of each kind: whole fits and comparisons; small ones."""
TOGETHER = 24
"""Blocked shares in whole per cent that are solved in one call."""
Stamps = tuple[tuple[str, int, int], ...]
"""Names, times and sizes of files."""


def _kept(most: int, words: str | Literal[False]) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Keep the results of a function; cases and weathers are distinguished by their whole content.

    Parameters
    ----------
    most : int
        Results kept.
    words : str or False
        Shown during a calculation; False for quick functions.

    Returns
    -------
    callable
        Decorator.
    """
    return st.cache_data(max_entries=most, show_spinner=words, hash_funcs={Case: repr, ChosenWeather: repr})


@st.cache_data(max_entries=FEW, show_spinner=False)
def case_of_file(path: Path, version: str) -> Case:
    """Case of a file; `version` is the fingerprint of its content."""
    return read_case(path)


@st.cache_data(max_entries=8, show_spinner=False)
def entries(folder: Path, stamps: Stamps) -> list[Entry]:
    """Units of a workspace; `stamps` shows whether anything changed."""
    return Workspace(folder).entries() if stamps else []


@st.cache_data(max_entries=8, show_spinner=False)
def titles(folder: Path, stamps: Stamps) -> tuple[Titled, ...]:
    """Names of the units of a workspace, the latest change first; `stamps` shows whether anything changed."""
    return Workspace(folder).titles() if stamps else ()


@st.cache_data(max_entries=MANY, show_spinner=False)
def entries_of(folder: Path, some: tuple[Titled, ...]) -> list[Entry]:
    """What is listed of some units of a workspace."""
    return Workspace(folder).entries_of(some)


@st.cache_data(max_entries=4, show_spinner=False)
def fleet_rows(path: Path, changed: int) -> list[dict[str, Any]]:
    """Rows of a table of results; `changed` shows whether it is another one."""
    return read_rows(path)


@st.cache_data(max_entries=4, show_spinner="Planning the weeks …")
def plan_of_rows(path: Path, changed: int, terms: Terms) -> CrewPlan:
    """The crew's plan of a table of results; `changed` shows whether it is another one."""
    return crew_plan(fleet_rows(path, changed), terms)


def _bare(case: Case) -> Case:
    """What the clean fit depends on: unit, clean visits, meters."""
    return replace(case, visits=case.clean_visits, season=None, cleaning=None, source=None, remarks=())


def performances(case: Case) -> list[MeasuredPerformance]:
    """Measured performance of every visit."""
    return _performances(_readings(case))


@_kept(FEW, "Calculating the performance …")
def _performances(case: Case) -> list[MeasuredPerformance]:
    return [measured_performance(visit, case.unit, case.instruments) for visit in case.visits]


def baseline(case: Case) -> Baseline:
    """Clean-coil fit of a case."""
    return _baseline(_bare(case))


@_kept(FEW, "Fitting the clean unit …")
def _baseline(case: Case) -> Baseline:
    return fit.baseline_of(case)


def comparison(case: Case, label: str) -> Comparison:
    """One visit against the clean unit."""
    return _comparison(_alone(case, label), label)


def _alone(case: Case, label: str) -> Case:
    """What one visit's finding depends on: the visit, the clean ones, unit, meters, season and cleaning."""
    visit = case.visit(label)
    kept = case.clean_visits if visit in case.clean_visits else (*case.clean_visits, visit)
    return replace(case, visits=kept, source=None, remarks=())


@_kept(FEW, "Comparing with the clean unit …")
def _comparison(case: Case, label: str) -> Comparison:
    return compare.compare_visit(case, case.visit(label), baseline(case), finding(case, label))


def finding(case: Case, label: str) -> Finding:
    """What the readings of one visit say."""
    return _finding(_alone(case, label), label)


@_kept(FEW, "Weighing every fault against the readings …")
def _finding(case: Case, label: str) -> Finding:
    return find(case, case.visit(label), baseline=baseline(case))


def alike(case: Case, first: str, second: str) -> LikeForLike:
    """Two visits moved to the same conditions."""
    return _alike(replace(case, source=None, remarks=()), first, second)


@_kept(FEW, "Correcting both visits to the same weather …")
def _alike(case: Case, first: str, second: str) -> LikeForLike:
    one, other = case.visit(first), case.visit(second)
    return like_for_like(case, one, other, baseline=baseline(case), findings=findings(case, (one, other)))


def findings(case: Case, visits: Iterable[Visit]) -> dict[str, Finding]:
    """What is found of visits, by label; one without a reading that the model could explain is left out."""
    return {one.label: finding(case, one.label) for one in visits if _has_readings(case, one)}


def _has_readings(case: Case, visit: Visit) -> bool:
    """Whether a visit has a reading that the model could explain."""
    return bool(observation(visit, case.instruments).names)


def measured_in_heating(case: Case) -> list[HeatingMeasured]:
    """What was measured on each visit in heating."""
    return [heating_measured(one, case.unit, case.instruments) for one in case.heating_visits]


def found_in_heating(case: Case) -> list[HeatingFinding]:
    """What the visits in heating point to; nothing of a unit whose heating cannot be worked out."""
    return _found_in_heating(_readings(case)) if heats(case.unit) else []


@_kept(FEW, "Weighing every fault against the readings in heating …")
def _found_in_heating(case: Case) -> list[HeatingFinding]:
    return heating_findings(case, baseline(case), case.heating_visits)


def approach(case: Case, label: str) -> ApproachExpected:
    """Condensing temperature over ambient expected of the clean unit at a visit's conditions."""
    return _approach(_readings(case), label)


@_kept(FEW, False)
def _approach(case: Case, label: str) -> ApproachExpected:
    return approach_expected(case, case.visit(label), baseline(case))


def _readings(case: Case) -> Case:
    """What the readings of all visits say depends on: unit, visits, meters."""
    return replace(case, season=None, cleaning=None, source=None, remarks=())


def check(case: Case, label: str) -> VisitCheck:
    """Heat balance of one visit beside its finding."""
    return _check(_alone(case, label), label)


@_kept(FEW, "Checking the readings against each other …")
def _check(case: Case, label: str) -> VisitCheck:
    visit = case.visit(label)
    found = finding(case, label) if visit.coil != "clean" and _has_readings(case, visit) else None
    return check_visit(case, visit, baseline(case), found)


def supported_performance(case: Case, label: str) -> MeasuredPerformance:
    """Measured performance of one visit with every suspect reading in the value that the others support."""
    return _supported_performance(_alone(case, label), label)


@_kept(FEW, False)
def _supported_performance(case: Case, label: str) -> MeasuredPerformance:
    visit = case.visit(label)
    found = finding(case, label) if _has_readings(case, visit) else None
    as_supported, errors = (found.visit_as_supported, found.supported_errors) if found else (visit, {})
    return measured_performance(as_supported, case.unit, case.instruments, errors)


def level(
    case: Case, weather: ChosenWeather, share: float, system: System, others: Mapping[str, float]
) -> Level:
    """Prediction at one blocked share of the face, with other faults."""
    return _level(_bare(case), weather, share, system, dict(others))


@_kept(MANY, False)
def _level(
    case: Case, weather: ChosenWeather, share: float, system: System, others: dict[str, float]
) -> Level:
    return predicted.fouling_levels(_baseline(case), weather, [share], system, others)[0]


def trip_temperature(
    case: Case, weather: ChosenWeather, share: float, system: System, others: Mapping[str, float]
) -> TripFigures:
    """Outdoor temperature at which the unit trips on high pressure at a blocked share in whole per cent."""
    # It does not depend on the outdoor air, so that this slider need not wait for it.
    anywhere = replace(weather, settings={**weather.settings, "outdoor_db": RATING_OUTDOOR})
    block, place = divmod(round(100.0 * share), TOGETHER)
    return _trip_temperatures(_bare(case), anywhere, block, system, dict(others))[place]


@_kept(MANY, False)
def _trip_temperatures(
    case: Case, weather: ChosenWeather, block: int, system: System, others: dict[str, float]
) -> list[TripFigures]:
    # Neighbours cost little more than one share alone, and the slider will come to them.
    shares = [percent / 100.0 for percent in range(TOGETHER * block, TOGETHER * (block + 1))]
    return trip_temperatures(_baseline(case), weather, shares, system, others)


def trip_share(
    case: Case, weather: ChosenWeather, system: System, others: Mapping[str, float]
) -> TripFigures:
    """Blocked share of the face at which the unit trips on high pressure in one weather."""
    return _trip_share(_bare(case), weather, system, dict(others))


@_kept(MANY, False)
def _trip_share(case: Case, weather: ChosenWeather, system: System, others: dict[str, float]) -> TripFigures:
    return trips.trip_share(_baseline(case), weather, system, others)


def loss_chart(case: Case, weather: ChosenWeather, key: str, found: str | None) -> Chart:
    """Change of one figure against the blocked share, with the best fouling of a visit marked."""
    return _loss_chart(_alone(case, found) if found else _bare(case), weather, key, found)


@_kept(FEW, "Drawing the losses …")
def _loss_chart(case: Case, weather: ChosenWeather, key: str, found: str | None) -> Chart:
    marked = None if found is None else _comparison(case, found)
    return loss_charts.loss_chart(baseline(case), weather, key, marked)


@dataclass(frozen=True)
class LogFindings:
    """What a log says, without the log itself, which may be long.

    Attributes
    ----------
    sentences : list of str
        What was read, and whether it reached steady state.
    steadiness : list of Steadiness
        Each reading over the stretch.
    chart : Chart
        Every reading over time.
    visit : dict or None
        The averages as entries of a visit; None where they make none.
    """

    sentences: list[str]
    steadiness: list[steady_state.Steadiness]
    chart: Chart
    visit: dict[str, Any] | None


def steady_log(content: bytes, name: str, system: System, ambient_pressure: float) -> LogFindings:
    """Whether a log reached steady state, and the averages."""
    return _steady_log(hashlib.sha256(content).hexdigest(), system, ambient_pressure, content, name)


@st.cache_data(max_entries=8, show_spinner="Reading the log …")
def _steady_log(
    digest: str, system: System, ambient_pressure: float, _content: bytes, _name: str
) -> LogFindings:
    """`digest` stands for the content, which is not hashed a second time."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        path.write_bytes(_content)
        try:
            log = read_log(path, system, ambient_pressure)
        except CaseError as error:
            named = [replace(one, place=one.place.replace(str(path), _name)) for one in error.problems]
            raise CaseError(named) from error
    record = steady_record(log)
    return LogFindings(
        list(steady_state.sentences(record, log, system)),
        steady_state.steadiness(record, log, system),
        trace_chart.trace_chart(record, log, system),
        steady_state.visit_table(record, log, system),
    )


def tracked(case: Case, content: bytes, name: str) -> Track:
    """Fouling over the months of a log of the unit."""
    digest = hashlib.sha256(content).hexdigest()
    return _tracked(
        replace(case, season=_room(case), source=None, remarks=(), track=()), digest, content, name
    )


def _room(case: Case) -> Season | None:
    """Of a season what a track depends on: the air of the room."""
    season = case.season
    return season and Season(indoor_setpoint=season.indoor_setpoint, indoor_rh=season.indoor_rh)


@_kept(8, "Following the fouling through the log …")
def _tracked(case: Case, digest: str, _content: bytes, _name: str) -> Track:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log"
        path.write_bytes(_content)
        try:
            stretches = steady_stretches([path], case)
        except CaseError as error:
            named = [replace(one, place=one.place.replace(str(path), _name)) for one in error.problems]
            raise CaseError(named) from error
    return fouling_track(case, baseline(case), stretches)


def track_costs(case: Case, kept: KeptTrack, digest: str) -> TrackCosts | None:
    """Cost of the fouling of a track, and when cleaning pays; `digest` stands for its log, if any."""
    return _track_costs(
        replace(case, source=None, remarks=()), digest, _weather_stamps(case), kept, case.source
    )


@_kept(16, "Pricing the fouling of the log …")
def _track_costs(
    case: Case, digest: str, stamps: Stamps, _track: KeptTrack, _source: Path | None
) -> TrackCosts | None:
    return cleaning_day.track_costs(replace(case, source=_source), baseline(case), _track)


def costs(case: Case, today: date | None = None) -> Costs:
    """Cost of fouling and when to clean, with a progress bar.

    Left out, `today` is the date of the last visit.
    """
    today = today or max((visit.date for visit in case.visits if visit.date is not None), default=None)
    kept = _kept_costs(replace(case, remarks=()), today, _weather_stamps(case))
    if not kept:
        words = "Simulating years of weather, pricing cleanings …"
        bar = st.progress(0.0, words)

        def advance(share: float) -> None:
            bar.progress(min(share, 1.0), words)

        try:
            kept.append(
                case_costs(case, baseline(case), today, advance, findings=findings(case, case.found_visits))
            )
        finally:
            bar.empty()
    return kept[0]


@st.cache_resource(max_entries=FEW, show_spinner=False, hash_funcs={Case: repr})
def _kept_costs(case: Case, today: date | None, stamps: Stamps) -> list[Costs]:
    """An empty place for the costs of a case: a bar cannot be drawn from inside a cached function."""
    return []


def _weather_stamps(case: Case) -> Stamps:
    """Size and time of the files of weather and load beside the case file."""
    named = (case.season.weather, case.season.load_file) if case.season and case.source else ()
    stamps = []
    for name in named:
        file = case.source.parent / name if name and case.source else None
        if file is not None and file.is_file():
            found = file.stat()
            stamps.append((str(file), found.st_mtime_ns, found.st_size))
    return tuple(stamps)


def costs_of_visit(case: Case, label: str) -> Costs | str:
    """The same as of one visit; a sentence where it cannot be calculated."""
    visit = case.visit(label)
    try:
        return costs(as_of_visit(case, visit), visit.date)
    except ValueError as problem:
        return str(problem)


def report_file(case: Case, label: str, ending: str, system: System) -> bytes:
    """The printed report of one visit as a file, `ending` being .pdf or .html."""
    cost = costs_of_visit(case, label)
    bare = replace(case, source=None, remarks=())
    return _report_file(bare, label, ending, system, _weather_stamps(case), cost)


@_kept(16, "Printing the report …")
def _report_file(
    case: Case, label: str, ending: str, system: System, stamps: Stamps, _cost: Costs | str
) -> bytes:
    """`stamps` stand for the files behind the costs, which are not hashed themselves."""
    fitted, found = baseline(case), comparison(case, label)
    more = visit_findings(case, fitted, found, _cost)
    content = report.comparison_report(case, fitted, found, system, more)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"report{ending}"
        report.write_report(content, path, case.visit(label).date, system)
        return path.read_bytes()
