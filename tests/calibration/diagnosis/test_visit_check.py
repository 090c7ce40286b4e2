"""Gauges and watts say "fouled condenser", the air side says that half the capacity is gone.

Published tests put what a condenser blocked by more than half costs near a tenth of capacity (Breuker and
Braun 1998, from memory); a psychrometer that had not settled shows half gone. The visit is made from the
model of a known unit, so the true loss is known. Every number is invented.
"""

from dataclasses import replace

import pytest

from calibration.case.meters import Instruments
from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import baseline_of
from calibration.clean_fit.observation import READINGS_OF_POINT, conditions, observation
from calibration.diagnosis.finding import find
from calibration.diagnosis.heat_balance import AIR, REFRIGERANT
from calibration.diagnosis.visit_check import VISITS_AT_A_TIME, check_visit, check_visits
from model.cycle import batch_newton
from model.cycle.faults import Faults
from model.cycle.solve import solve
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of

UNIT = true_unit()
CLEAN = visit_of(UNIT, "clean")
BLOCKED = Faults(condenser_blocked=0.6)
FOUND = visit_of(UNIT, "found", faults=BLOCKED, coil="as found", outdoor=308.15)
UNSETTLED = replace(FOUND, supply_db=FOUND.supply_db + 2.0, supply_wb=FOUND.supply_wb + 2.6)
"""The psychrometer was read in the supply air before it had settled: 3.6 and 4.7 degF high."""
METERS = Instruments(
    suction_gauge=7e3, liquid_gauge=14e3, discharge_gauge=14e3, pipe_thermometer=0.3, wet_bulb=0.3
)


def checked(visit: Visit, meters: Instruments = METERS):
    return check_visit(Case("US", DESCRIPTION, (CLEAN, visit), meters), visit)


def true_loss() -> float:
    seen = observation(FOUND, METERS)
    weather = conditions(seen.settings, 101_325.0)
    clean, found = solve(UNIT, weather), solve(UNIT, weather, BLOCKED)
    return 1.0 - float(found.gross_capacity / clean.gross_capacity)


@pytest.mark.parametrize("meters", [METERS, Instruments()])
def test_the_air_sides_half_is_not_taken_for_true(meters):
    check = checked(UNSETTLED, meters)
    losses, supported = check.balance.losses, check.supported_loss
    assert losses[AIR].value > 0.4
    assert losses[REFRIGERANT].value < 0.5 * losses[AIR].value
    assert check.air_side_overstates
    assert supported is not None
    assert supported.low < true_loss() < supported.high
    low, high = losses[REFRIGERANT].ends
    assert low < true_loss() < high
    assert check.finding is not None
    assert check.finding.claims_fouling
    assert check.finding.suspects[0].reading == "supply_wb"
    assert {one.reading for one in check.finding.suspects} <= {"supply_wb", "supply_db"}
    assert check.finding.suspect("supply_wb") is not None


def test_the_same_visit_with_a_settled_wick_agrees():
    check = checked(FOUND)
    assert not check.air_side_overstates
    assert check.balance.worst.agrees
    assert check.finding is not None
    assert check.finding.suspects == ()
    assert check.supported_loss is not None
    assert check.supported_loss.value == pytest.approx(true_loss(), abs=0.02)


def test_a_bad_reading_does_not_move_the_supported_loss():
    good, bad = checked(FOUND).supported_loss, checked(UNSETTLED).supported_loss
    assert good is not None
    assert bad is not None
    assert bad.value == pytest.approx(good.value, abs=0.01)


def test_an_uncharged_unit_really_has_lost_capacity_by_every_route():
    lost = visit_of(UNIT, "found", faults=Faults(charge_change=-0.35), coil="as found", outdoor=308.15)
    check = checked(lost)
    assert not check.air_side_overstates
    assert check.supported_loss is not None
    assert check.balance.losses[AIR].value > 0.12
    assert check.supported_loss.value == pytest.approx(check.balance.losses[AIR].value, abs=0.06)


def test_a_clean_visit_has_no_supported_loss_and_a_bare_one_no_finding():
    assert checked(CLEAN).supported_loss is None
    bare = Visit("bare", "as found", outdoor_db=305.0, return_db=298.0)
    check = checked(bare)
    assert check.finding is None
    assert check.balance.capacities == {}
    assert not check.air_side_overstates


WEATHERS = [300.0 + 1.5 * number for number in range(6)]
AFTER_CLEANING = tuple(visit_of(UNIT, f"clean at {outdoor}", outdoor=outdoor) for outdoor in WEATHERS)
NO_READING = dict.fromkeys(READINGS_OF_POINT)
MOST_POINTS = 9_000
"""Points of the cycle that may be solved to check one visit after a cleaning: levels of all faults, with a
column for every latent number, twice."""


def test_a_visit_after_cleaning_is_judged_as_its_finding_says_without_working_out_a_loss(monkeypatch):
    case = Case("US", DESCRIPTION, AFTER_CLEANING[:3], METERS)
    wet = replace(AFTER_CLEANING[0], supply_wb=AFTER_CLEANING[0].supply_wb + 4.0)
    spoilt = replace(case, visits=(wet, *case.visits[1:]))
    finding = find(spoilt, wet)

    def worked_out(*arguments):
        raise AssertionError("the loss was worked out")

    monkeypatch.setattr("calibration.diagnosis.finding.impact_of", worked_out)
    judged = check_visit(spoilt, wet).finding
    assert judged is not None
    assert judged.suspect("supply_wb") is not None
    for name, value in vars(judged).items():
        assert getattr(finding, name) == value


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Points of each call of the solver."""
    points: list[int] = []
    plain = batch_newton.solve

    def counted(system, start, *arguments, **options):
        points.append(start.shape[1])
        return plain(system, start, *arguments, **options)

    monkeypatch.setattr(batch_newton, "solve", counted)
    return points


def test_visits_checked_together_are_checked_as_each_alone_in_far_fewer_calls(solved):
    unread = replace(AFTER_CLEANING[1], label="other readings", liquid_temperature=None, indoor_power=None)
    visits = (*AFTER_CLEANING, unread, UNSETTLED, replace(CLEAN, label="only air", **NO_READING))
    case = Case("US", DESCRIPTION, visits, METERS)
    baseline = baseline_of(case)
    solved.clear()
    alone = [check_visit(case, visit, baseline) for visit in visits]
    calls_alone = len(solved)
    solved.clear()
    together = list(check_visits(case, visits, baseline))
    assert len(visits) > VISITS_AT_A_TIME
    assert len(solved) < 0.7 * calls_alone
    for one, other in zip(together, alone, strict=True):
        assert one.balance == other.balance
        assert (one.finding is None) == (other.finding is None)
        if one.finding is None or other.finding is None:
            continue
        assert type(one.finding) is type(other.finding)
        assert one.finding.verdict == other.finding.verdict
        assert one.finding.visit == other.finding.visit
        for first, second in zip(one.finding.probabilities, other.finding.probabilities, strict=True):
            assert second.probability == pytest.approx(one.finding.probability(second.key), abs=1e-4)
            assert first.probability == pytest.approx(second.probability, abs=1e-4)
        for read, again in zip(one.finding.suspects, other.finding.suspects, strict=True):
            assert read.reading == again.reading
            assert read.supported == pytest.approx(again.supported, rel=1e-4)
    assert together[-1].finding is None


def test_the_work_of_checking_visits_after_cleaning_grows_with_their_number(solved):
    for count in (3, len(AFTER_CLEANING)):
        case = Case("US", DESCRIPTION, AFTER_CLEANING[:count], METERS)
        baseline = baseline_of(case)
        for visit in case.visits[1:3]:
            solved.clear()
            check_visit(case, visit, baseline)
            assert len(solved) < 40
            assert sum(solved) < MOST_POINTS
        solved.clear()
        for _ in check_visits(case, case.visits, baseline):
            pass
        assert sum(solved) < MOST_POINTS * count
