"""Older forms of the tables of a case, one step at a time to the present one.

A step takes the tables of one schema, as `tomllib` reads them, and gives those of the next with a sentence
about what changed. It moves and renames only: whether the entries make sense is checked afterwards, in the
present form. Anything that is not of the expected sort is left in place, to be reported there.

Schema 0 was the draft before version 0.1.0: visits stood under ``[[visits]]``, a condenser that had not been
cleaned was ``"fouled"``, and three entries had other names.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Tables = dict[str, Any]

_VISIT_NAMES = {"airflow": "indoor_airflow", "blower_power": "indoor_power"}
_UNIT_NAMES = {"metering": "expansion"}
_COILS = {"fouled": "as found"}


def from_draft(tables: Tables) -> tuple[Tables, str]:
    """Tables of schema 1 from those of schema 0.

    Parameters
    ----------
    tables : dict
        As read, the number of the schema taken out.

    Returns
    -------
    (dict, str)
        Tables of schema 1, and what changed.
    """
    new = {("visit" if name == "visits" else name): value for name, value in tables.items()}
    visits = new.get("visit")
    if isinstance(visits, list):
        new["visit"] = [_renamed(visit, _VISIT_NAMES) for visit in visits]
        for visit in new["visit"]:
            if isinstance(visit, dict) and isinstance(visit.get("coil"), str):
                visit["coil"] = _COILS.get(visit["coil"], visit["coil"])
    if "unit" in new:
        new["unit"] = _renamed(new["unit"], _UNIT_NAMES)
    return new, (
        "the file has the draft schema 0 and was read as schema 1: [[visits]] as [[visit]], "
        "airflow as indoor_airflow, blower_power as indoor_power, metering as expansion, "
        'coil "fouled" as "as found"; the file changes only when it is saved'
    )


def _renamed(table: Any, names: dict[str, str]) -> Any:
    """A table with some entries under their new names; an entry that has the new name already stays."""
    if not isinstance(table, dict):
        return table
    return {
        (names[name] if name in names and names[name] not in table else name): value
        for name, value in table.items()
    }


MIGRATIONS: dict[int, Callable[[Tables], tuple[Tables, str]]] = {0: from_draft}
"""By the schema it starts from: turns tables into the next schema and says in a sentence what changed."""
