"""An invented unit of two equal circuits, each of which is the unit of a case of one."""

from dataclasses import replace

from calibration.case.circuits import SHARED_OF_UNIT, SHARED_OF_VISIT
from calibration.case.records import Case


def two_circuits(case: Case) -> Case:
    """The case's unit twice in one machine: its visits to each, and twice what both have in common."""
    unit = replace(_doubled(case.unit, SHARED_OF_UNIT), circuits=2)
    visits = tuple(
        replace(_doubled(visit, SHARED_OF_VISIT), circuit=circuit, label=f"{visit.label} {circuit}")
        for circuit in (1, 2)
        for visit in case.visits
    )
    season, cleaning = case.season, case.cleaning
    if season is not None and season.design_load is not None:
        season = replace(season, design_load=2.0 * season.design_load)
    if cleaning is not None and cleaning.price is not None:
        cleaning = replace(cleaning, price=2.0 * cleaning.price)
    return replace(case, unit=unit, visits=visits, season=season, cleaning=cleaning, id="")


def _doubled(record, names):
    values = {name: getattr(record, name) for name in names}
    return replace(record, **{name: 2.0 * value for name, value in values.items() if value is not None})
