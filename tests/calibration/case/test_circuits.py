"""A unit of several circuits as cases of one: shares of what is common, visits where they belong."""

from dataclasses import replace

import pytest

from calibration.case.circuits import SHARED_OF_UNIT, circuit_cases, circuit_of, last_visits
from calibration.case.document import case_from_document, document_of
from calibration.case.errors import CaseError
from calibration.clean_fit.baseline import baseline_of
from tests.calibration.demo_in_bins import DEMO
from tests.calibration.two_circuits import two_circuits

TWO = two_circuits(DEMO)


def test_two_equal_circuits_are_two_units():
    """Each circuit of a doubled unit is the unit: nameplate, readings, everything but its name and share."""
    for number, one in enumerate(circuit_cases(TWO), start=1):
        assert one.unit.name == f"{DEMO.unit.name}, circuit {number}"
        assert one.share == 0.5
        assert replace(one.unit, name=DEMO.unit.name) == DEMO.unit
        plain = [replace(visit, label=visit.label.removesuffix(f" {number}")) for visit in one.visits]
        assert plain == list(DEMO.visits)


def test_a_unit_of_one_circuit_is_itself():
    assert circuit_cases(DEMO) == (DEMO,)
    assert circuit_of(DEMO, DEMO.visits[0].label) is DEMO


def test_what_the_circuits_have_in_common_is_shared_out():
    unit = replace(TWO.unit, circuits=4, rated_indoor_airflow=2.0, outdoor_fan_power=600.0)
    first = circuit_cases(replace(TWO, unit=unit, visits=()))[0]
    for name in SHARED_OF_UNIT:
        whole = getattr(unit, name)
        assert getattr(first.unit, name) == (None if whole is None else whole / 4)
    assert first.unit.charge == unit.charge


def test_a_visit_belongs_to_its_circuit():
    label = f"{DEMO.found_visits[-1].label} 2"
    one = circuit_of(TWO, label)
    assert one.unit.name.endswith("circuit 2")
    assert one.visit(label).suction_pressure == DEMO.found_visits[-1].suction_pressure
    assert last_visits(TWO, "as found") == tuple(f"{DEMO.found_visits[-1].label} {k}" for k in (1, 2))
    assert last_visits(replace(TWO, visits=TWO.visits[:1])) == ()


def test_a_whole_unit_is_not_fitted_as_one_circuit():
    with pytest.raises(ValueError, match=r"\[unit\] circuits is 2; one is expected here"):
        baseline_of(TWO)


@pytest.mark.parametrize(
    ("circuits", "circuit", "sentence"),
    [
        (2, None, "circuit: is missing; 1 to 2 is expected of a unit with 2 circuits"),
        (2, 3, "circuit: is 3; 1 to 2 is expected"),
        (None, 1, ""),
        (None, 2, "circuit: is 2; circuits under [unit] is expected"),
    ],
)
def test_circuits_that_cannot_be_are_refused(circuits, circuit, sentence):
    visit = replace(TWO.visits[0], circuit=circuit)
    document = document_of(replace(TWO, unit=replace(TWO.unit, circuits=circuits), visits=(visit,)))
    if not sentence:
        document["unit"]["rated_capacity"] /= 2
        assert case_from_document(document).visits[0].circuit == 1
        return
    with pytest.raises(CaseError) as caught:
        case_from_document(document)
    assert sentence in str(caught.value)


def test_circuits_read_back():
    again = case_from_document(document_of(TWO))
    assert again.unit.circuits == 2
    assert [visit.circuit for visit in again.visits] == [visit.circuit for visit in TWO.visits]
