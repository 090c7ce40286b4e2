"""Tables of a case file with numbers as typed, to a `Case` in SI and back.

The tables are what `tomllib` reads and what a form fills. They are understood whole or refused whole: every
fault is listed. ``schema`` numbers the form of the tables. Without it they are of the present form; older
ones are migrated and the case says so in its remarks.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping
from typing import Any, cast

from calibration.case.checks import (
    note_double_readings,
    note_impossible_heating,
    note_impossible_readings,
)
from calibration.case.entries import (
    FAN_SPEEDS,
    Table,
    Writing,
    entries_as_typed,
    entries_in_si,
    shortest_number,
)
from calibration.case.errors import CaseError, Problem, Problems, did_you_mean, shortened
from calibration.case.meters import LIMIT_TO_STANDARD, Instruments
from calibration.case.migrations import MIGRATIONS
from calibration.case.nameplate_check import note_nameplate_against_readings
from calibration.case.records import (
    CapacityRow,
    Case,
    PrintedMap,
    ReportEntry,
    UnitDescription,
    Visit,
    ambient_pressure_at,
)
from calibration.case.schema import note_structural_problems
from calibration.case.season_tables import cleaning_of, season_document, season_of, tracked_days
from calibration.case.units import BAROMETRIC_PRESSURE, SYSTEMS, TEMPERATURE, TEMPERATURE_DIFFERENCE, System
from model.cycle.sizing import RATING_RETURN
from model.properties.refrigerant import KNOWN_REFRIGERANTS, canonical_name

SCHEMA = 1
"""Number of the present form of the tables."""
IDENTIFIER = re.compile(r"[0-9A-Za-z-]{8,64}")
"""Form of what tells one case from every other."""
MOST_STAGES = 4
"""Stages that a compressor may have."""
MOST_VISITS = 500
"""Visits that a case may have."""
ENVELOPE = ("suction_range", "discharge_range")
"""Keys of a compressor map that say how far it is good."""
MOST_TRACKED = 500
"""Days of a track that a case may have."""
MOST_TABLE_ROWS = 200
"""Lines that a maker's capacity table may have."""


def case_from_document(document: Mapping[str, Any]) -> Case:
    """Case of a file's tables, numbers as typed.

    Parameters
    ----------
    document : mapping
        Tables as `tomllib` reads them or a form fills them, in the system that its ``units`` names.

    Returns
    -------
    Case
        In SI.

    Raises
    ------
    CaseError
        With every fault.
    """
    tables, remarks = _migrated(dict(document))
    _refuse_a_crowd(tables)
    problems = Problems(tables)
    note_structural_problems(tables, problems)
    _check_identifier(tables.get("id"), problems)
    if problems.full or tables.get("units") not in SYSTEMS or not isinstance(tables.get("unit"), Mapping):
        raise problems.error()
    case = _understood(tables, problems)
    if problems.found or case is None:
        raise problems.error()
    return dataclasses.replace(case, id=tables.get("id") or "", remarks=remarks)


def _migrated(document: dict[str, Any]) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Document in the present schema without its number, and what was changed."""
    schema = document.pop("schema", SCHEMA)
    if not isinstance(schema, int) or isinstance(schema, bool) or schema < min(MIGRATIONS, default=SCHEMA):
        raise CaseError(
            [
                Problem(
                    ("schema",),
                    "schema",
                    f"is {shortened(schema)}; a whole number up to {SCHEMA} is expected",
                )
            ]
        )
    if schema > SCHEMA:
        sentence = f"is {schema}, of a newer version of this program; {SCHEMA} or less is expected"
        raise CaseError([Problem(("schema",), "schema", sentence)])
    remarks = []
    for number in range(schema, SCHEMA):
        document, remark = MIGRATIONS[number](document)
        remarks.append(remark)
    return document, tuple(remarks)


def _refuse_a_crowd(tables: Mapping[str, Any]) -> None:
    """Refuse more visits or lines than a person can have typed, before each of them is looked at."""
    for name, most in (("visit", MOST_VISITS), ("track", MOST_TRACKED)):
        listed = tables.get(name)
        if isinstance(listed, list) and len(listed) > most:
            sentence = f"there are {len(listed)}; at most {most} are expected"
            raise CaseError([Problem((name,), name, sentence)])
    unit = tables.get("unit")
    rows = unit.get("capacity_table") if isinstance(unit, Mapping) else None
    if isinstance(rows, list) and len(rows) > MOST_TABLE_ROWS:
        sentence = f"has {len(rows)} lines; at most {MOST_TABLE_ROWS} are expected"
        raise CaseError([Problem(("unit", "capacity_table"), "[[unit.capacity_table]]", sentence)])


def _check_identifier(value: Any, problems: Problems) -> None:
    """Refuse an identifier of another form; none at all is given at the next save."""
    if isinstance(value, str) and value and not IDENTIFIER.fullmatch(value):
        sentence = (
            f"is {shortened(value)}; 8 to 64 letters, digits and hyphens, or no such line, are expected"
        )
        problems.add(("id",), sentence)


def _understood(tables: Mapping[str, Any], problems: Problems) -> Case | None:
    """Case of tables whose units are known; None where a problem leaves no unit."""
    system = cast(System, tables["units"])
    instruments = _instruments(_table(tables, "instruments"), system, problems)
    unit = _unit(tables["unit"], system, problems)
    ambient = ambient_pressure_at(unit.altitude if unit else 0.0)
    raw_visits = tables.get("visit")
    visits = []
    for index, raw in enumerate(raw_visits if isinstance(raw_visits, list) else []):
        if isinstance(raw, Mapping):
            visits.append(_visit(dict(raw), index, Writing(system, ambient), problems))
    _name_visits(visits, problems)
    if unit is not None:
        _check_circuits(unit.circuits or 1, visits, problems)
        _check_readings(unit, visits, (instruments, system), problems)
    season = season_of(_table(tables, "season"), system, problems)
    cleaning = cleaning_of(_table(tables, "cleaning"), system, problems)
    tracked = tracked_days(tables.get("track"), system, problems)
    named = entries_in_si(
        _table(tables, "report") or {}, Table("report", ("report",)), Writing(system), problems
    )
    if problems.found or unit is None:
        return None
    kept = [visit for visit in visits if visit is not None]
    heating = tuple(visit for visit in kept if visit.mode == "heating")
    cooling = tuple(visit for visit in kept if visit.mode != "heating")
    return Case(
        system,
        unit,
        cooling,
        instruments,
        season,
        cleaning,
        ReportEntry(**named),
        heating_visits=heating,
        track=tracked,
    )


def _check_readings(
    unit: UnitDescription,
    visits: list[Visit | None],
    meters: tuple[Instruments, System],
    problems: Problems,
) -> None:
    """Refuse what cannot be true in the readings, each visit by the mode that the unit ran in."""
    for index, visit in enumerate(visits):
        if visit is not None and not problems.at(("visit", index)):
            heating = visit.mode == "heating"
            note = note_impossible_heating if heating else note_impossible_readings
            note(visit, (unit, meters[1]), ("visit", index), problems)
    cooling = [None if visit is None or visit.mode == "heating" else visit for visit in visits]
    note_nameplate_against_readings(unit, cooling, meters, problems)


def _table(tables: Mapping[str, Any], name: str) -> Mapping[str, Any] | None:
    """A table of the document, None where there is none or something else."""
    value = tables.get(name)
    return value if isinstance(value, Mapping) else None


def _unit(raw: Mapping[str, Any], system: System, problems: Problems) -> UnitDescription | None:
    """The unit, or None when something that it needs is at fault."""
    table = Table("unit", ("unit",))
    ambient = ambient_pressure_at(_peek(raw, "altitude", table, Writing(system), problems) or 0.0)
    values = entries_in_si(raw, table, Writing(system, ambient), problems)
    if "refrigerant" in values:
        try:
            values["refrigerant"] = canonical_name(values["refrigerant"])
        except ValueError:
            typed = values["refrigerant"]
            words = f"is {shortened(typed)}; {did_you_mean(typed, KNOWN_REFRIGERANTS)}"
            problems.add(("unit", "refrigerant"), words)
    if not str(values.get("name", "unnamed")).strip() or "\n" in values.get("name", ""):
        problems.add(("unit", "name"), "a name on one line is expected")
    _check_cut_outs(values, problems)
    _check_speeds(values, problems)
    if isinstance(raw.get("compressor_map"), Mapping) and not problems.at(("unit", "compressor_map")):
        values["compressor_map"] = _compressor_map(raw["compressor_map"], problems)
    values["capacity_table"] = _capacity_table(raw.get("capacity_table"), system, problems)
    return None if problems.at(("unit",)) else UnitDescription(**values)


def _peek(
    raw: Mapping[str, Any], name: str, table: Table, writing: Writing, problems: Problems
) -> float | None:
    """One number of a table ahead of the others, None where it is missing or at fault."""
    if problems.at((*table.path, name)):
        return None
    value = entries_in_si({name: raw.get(name)}, table, writing, Problems({})).get(name)
    return None if value is None else float(value)


def _check_cut_outs(values: Mapping[str, Any], problems: Problems) -> None:
    """Refuse a low-pressure cut-out above the high-pressure one."""
    high, low = values.get("high_pressure_limit"), values.get("low_pressure_limit")
    if high is not None and low is not None and low >= high:
        problems.add(("unit", "low_pressure_limit"), "less than high_pressure_limit is expected")


def _capacity_table(raw: Any, system: System, problems: Problems) -> tuple[CapacityRow, ...]:
    """Lines of the maker's capacity table; those at fault are noted and left out."""
    rows = []
    for index, line in enumerate(raw if isinstance(raw, list) else []):
        path = ("unit", "capacity_table", index)
        if not isinstance(line, Mapping) or problems.at(path):
            continue
        values = entries_in_si(line, Table("capacity_table", path), Writing(system), problems)
        if problems.at(path):
            continue
        row = CapacityRow(**values)
        if row.return_wb > (RATING_RETURN if row.return_db is None else row.return_db):
            problems.add((*path, "return_wb"), "at most the dry bulb of the return air is expected")
        rows.append(row)
    return tuple(rows)


def _check_speeds(values: Mapping[str, Any], problems: Problems) -> None:
    """Refuse speeds that do not go together."""
    stages, ends = values.get("stages", ()), values.get("speed_range", ())
    if len(stages) > MOST_STAGES:
        problems.add(("unit", "stages"), f"has {len(stages)}; at most {MOST_STAGES} are expected")
    if stages and ends:
        problems.add(("unit", "speed_range"), "is given beside stages; one of the two is expected")
    elif ends and len(ends) != 2:
        words = f"has {len(ends)}; the lowest and the highest are expected"
        problems.add(("unit", "speed_range"), words)
    for name in FAN_SPEEDS:
        speeds, asked = values.get(name, ()), len(stages or ends)
        if speeds and len(speeds) != asked:
            one_each = f"{asked} are expected, one for each of {'stages' if stages else 'speed_range'}"
            words = one_each if asked else "stages or speed_range are expected beside it"
            problems.add(("unit", name), f"has {len(speeds)}; {words}")


def _compressor_map(raw: Mapping[str, Any], problems: Problems) -> PrintedMap | None:
    """The maker's map, or None with its faults noted."""
    path = ("unit", "compressor_map")
    if raw["form"] not in SYSTEMS:
        problems.add((*path, "form"), f'is {shortened(raw["form"])}; "US" or "SI" is expected')
    for name in ("mass_flow", "power"):
        if len(raw[name]) != 10:
            problems.add((*path, name), f"has {len(raw[name])} coefficients; ten are expected (AHRI 540)")
    rated = [raw.get("superheat"), raw.get("return_gas_temperature")]
    if rated.count(None) != 1:
        problems.add((*path, "superheat"), "either superheat or return_gas_temperature is expected")
    for name in ENVELOPE:
        ends = raw.get(name)
        if ends is not None and not (len(ends) == 2 and ends[0] < ends[1]):
            sentence = f"is {shortened(ends)}; lowest and highest saturated temperature are expected"
            problems.add((*path, name), sentence)
    if problems.at(path):
        return None
    form = cast(System, raw["form"])
    superheat = None if rated[0] is None else TEMPERATURE_DIFFERENCE.to_si(float(rated[0]), form)
    gas = None if rated[1] is None else TEMPERATURE.to_si(float(rated[1]), form)
    flow, power = (tuple(float(value) for value in raw[name]) for name in ("mass_flow", "power"))
    ends = [None if raw.get(name) is None else _ends(raw[name], form) for name in ENVELOPE]
    return PrintedMap(form, flow, power, superheat, gas, *ends)


def _ends(typed: list[float], form: System) -> tuple[float, float]:
    """Two temperatures as typed, in K."""
    low, high = (TEMPERATURE.to_si(float(value), form) for value in typed)
    return low, high


def _instruments(raw: Mapping[str, Any] | None, system: System, problems: Problems) -> Instruments:
    """Meters of the case, limits of error turned to standard deviations."""
    values = entries_in_si(raw or {}, Table("instruments", ("instruments",)), Writing(system), problems)
    if values.pop("stated_as", "standard") == "limits":
        values = {name: value * LIMIT_TO_STANDARD for name, value in values.items()}
    return Instruments(**values)


def _visit(raw: dict[str, Any], index: int, writing: Writing, problems: Problems) -> Visit | None:
    """One visit, or None when something that it needs is at fault."""
    path = ("visit", index)
    table = Table("visit", path)
    ambient = _peek(raw, "barometer", table, writing, problems) or writing.ambient_pressure
    values = entries_in_si(raw, table, Writing(writing.system, ambient), problems)
    note_double_readings(raw, path, problems)
    if problems.at(path):
        return None
    label = str(values.pop("label", "")).strip() or _usual_label(values)
    if "\n" in label:
        problems.add((*path, "label"), "a label on one line is expected")
    return Visit(label=label, ambient_pressure=ambient, **values)


def _usual_label(values: Mapping[str, Any]) -> str:
    """Label of a visit that was given none: its date and the state of its coil."""
    return " ".join(str(values[name]) for name in ("date", "coil") if values.get(name))


def _name_visits(visits: list[Visit | None], problems: Problems) -> None:
    """Refuse two visits of one name."""
    seen: dict[str, int] = {}
    for index, visit in enumerate(visits):
        if visit is None:
            continue
        if visit.label in seen:
            twin = f"is {shortened(visit.label)} as for visit {seen[visit.label] + 1}"
            problems.add(("visit", index, "label"), f"{twin}; a label of its own is expected")
        seen.setdefault(visit.label, index)


def _check_circuits(circuits: int, visits: list[Visit | None], problems: Problems) -> None:
    """Refuse a visit to no circuit of a unit with several, or to one that the unit does not have."""
    for index, visit in enumerate(visits):
        if visit is None:
            continue
        path = ("visit", index, "circuit")
        if visit.circuit is None and circuits > 1:
            problems.add(path, f"is missing; 1 to {circuits} is expected of a unit with {circuits} circuits")
        elif visit.circuit is not None and visit.circuit > circuits:
            words = f"1 to {circuits} is expected" if circuits > 1 else "circuits under [unit] is expected"
            problems.add(path, f"is {visit.circuit}; {words}")


def document_of(case: Case, system: System | None = None) -> dict[str, Any]:
    """Tables of a case with numbers as they are typed; `case_from_document` is the way back.

    Parameters
    ----------
    case : Case
        In SI.
    system : {"US", "SI"} or None
        System of the numbers; None for the case's own.

    Returns
    -------
    dict
        Tables in the order in which they are written.
    """
    system = system or case.units
    writing = Writing(system, case.unit.ambient_pressure)
    document: dict[str, Any] = {"schema": SCHEMA}
    if case.id:
        document["id"] = case.id
    document |= {"units": system, "unit": _unit_document(case.unit, writing)}
    made = (*case.visits, *case.heating_visits)
    visits = [visit_document(visit, case.unit.ambient_pressure, system) for visit in made]
    if visits:
        document["visit"] = visits
    for name, part in (("instruments", case.instruments), ("cleaning", case.cleaning)):
        typed = entries_as_typed(vars(part), name, writing) if part else {}
        if typed or (name == "cleaning" and part):
            document[name] = typed
    if case.season:
        document["season"] = season_document(case.season, writing)
    named = entries_as_typed(vars(case.report), "report", writing)
    tracked = [entries_as_typed(vars(day), "track", writing) for day in case.track]
    return document | ({"report": named} if named else {}) | ({"track": tracked} if tracked else {})


def _unit_document(unit: UnitDescription, writing: Writing) -> dict[str, Any]:
    """Table [unit]."""
    table = entries_as_typed(vars(unit), "unit", writing)
    if unit.compressor_map is not None:
        rated = unit.compressor_map
        inner: dict[str, Any] = {
            "form": rated.form,
            "mass_flow": list(rated.mass_flow),
            "power": list(rated.power),
        }
        own = Writing(rated.form)
        if rated.superheat is not None:
            inner["superheat"] = shortest_number(rated.superheat, TEMPERATURE_DIFFERENCE, own)
        if rated.return_gas_temperature is not None:
            gas = shortest_number(rated.return_gas_temperature, TEMPERATURE, own)
            inner["return_gas_temperature"] = gas
        for name in ENVELOPE:
            ends = getattr(rated, name)
            if ends is not None:
                inner[name] = [shortest_number(value, TEMPERATURE, own) for value in ends]
        table["compressor_map"] = inner
    rows = [entries_as_typed(vars(row), "capacity_table", writing) for row in unit.capacity_table]
    return table | ({"capacity_table": rows} if rows else {})


def visit_document(visit: Visit, ambient_pressure: float, system: System) -> dict[str, Any]:
    """Table [[visit]] of one visit with numbers as they are typed.

    Parameters
    ----------
    visit : Visit
        In SI.
    ambient_pressure : float
        Barometric pressure that a reader of the table will assume where the visit has no barometer [Pa].
    system : {"US", "SI"}
        System of the numbers.

    Returns
    -------
    dict
        Entries that were made, in the order in which they are written.
    """
    values = dict(vars(visit))
    ambient = ambient_pressure
    if visit.barometer is not None:
        typed = shortest_number(visit.barometer, BAROMETRIC_PRESSURE, Writing(system))
        ambient = BAROMETRIC_PRESSURE.to_si(typed, system)
    for side in ("outdoor", "indoor"):
        if all(values[f"{side}_{part}"] is not None for part in ("volts", "amps", "power_factor")):
            values[f"{side}_power"] = None
    for name in ("compressor_speed", "outdoor_fan_speed"):
        values[name] = None if values[name] == 1.0 else values[name]
    return entries_as_typed(values, "visit", Writing(system, ambient))
