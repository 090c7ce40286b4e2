"""Which key of the case file a header of a table means, by the key itself or by words that people use.

Headers of visits and of whole fleets are matched here, so that a word that one table may use every other may.

Assumption: a header names at most one key, and a key is meant by one column only; where two columns are like
one key, the likelier has it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from difflib import SequenceMatcher
from functools import lru_cache

from calibration.case.keys import Key
from calibration.files.headers import LONGEST_HEADER, Column, column_of

LIKENESS = 0.72
"""Likeness of two texts from which a header is taken for a reading [-]."""
SURE = 0.97
"""Likeness above which it is not merely alike: the key, its words, or other words in use [-]."""
PER_WORDING = 0.001
"""How much less a header's second and further wordings count than the first [-]."""
MOST_REMEMBERED = 100_000
"""Comparisons that are kept."""

OTHER_WORDS: dict[str, tuple[str, ...]] = {
    "outdoor_db": ("outdoor temperature", "outdoor air", "ambient", "odt", "oat", "odb", "outside air"),
    "return_db": ("return air", "return temperature", "idb", "indoor db", "indoor dry bulb"),
    "return_wb": ("return wet bulb", "iwb", "indoor wb", "indoor wet bulb"),
    "return_rh": ("return humidity", "indoor rh", "return rh"),
    "supply_db": ("supply air", "supply temperature"),
    "supply_wb": ("supply wet bulb",),
    "supply_rh": ("supply humidity",),
    "indoor_airflow": ("airflow", "air flow", "cfm"),
    "indoor_airflow_standard": ("scfm", "standard airflow"),
    "suction_pressure": ("low side pressure", "suction", "low pressure", "vapor pressure"),
    "liquid_pressure": ("high side pressure", "liquid pressure", "head pressure", "high pressure"),
    "discharge_pressure": ("discharge",),
    "suction_temperature": ("suction line temperature", "suction line", "vapor line temperature"),
    "liquid_temperature": ("liquid line temperature", "liquid line"),
    "discharge_temperature": ("discharge line temperature", "discharge line"),
    "outdoor_power": ("outdoor unit", "condensing unit power", "watts outdoor", "outdoor watts", "watts"),
    "indoor_power": ("indoor fan power", "blower watts", "air handler power"),
    "label": ("visit", "name", "test"),
    "coil": ("condition", "state of coil"),
    "notes": ("remarks", "comment"),
}
"""Words in use for readings; common practice, no source."""
SHORT = {"suct": "suction", "liq": "liquid", "disch": "discharge"}
"""Words that people shorten."""
PRESSURES = ("psi", "psig", "psia", "kpa", "mpa", "bar")
PIPES = ("suction", "suct", "liquid", "liq", "discharge", "disch")
"""What alone is the temperature of a pipe or the pressure in it, by its unit."""
_PRESSURE_IN_BRACKETS = re.compile(rf"[\[(](?:{'|'.join(PRESSURES)})(?: abs)?[\])]\s*$", re.IGNORECASE)
_TEMPERATURE_AT_END = re.compile(r"(?:deg ?|°\s?)[fc][\])]?\s*$|[\[(][fc][\])]\s*$", re.IGNORECASE)
_UNIT_AT_END = re.compile(r"\s(psi[ga]?|kpa|mpa|bar|deg ?[fc]|° ?[fc])\s*$", re.IGNORECASE)
"""Units that are known without brackets, too; all others could be a word."""


def matched(
    headers: Sequence[Sequence[str]],
    keys: Iterable[Key],
    words: Mapping[tuple[str, str], tuple[str, ...]] | None = None,
    least: float = LIKENESS,
) -> dict[int, Key]:
    """Keys that the headers of a table mean.

    Parameters
    ----------
    headers : sequence of sequences of str
        One or more wordings of each header, the likeliest first; a unit in brackets is left out of account.
    keys : iterable of Key
        Keys that may be meant.
    words : mapping of (str, str) to tuple of str, optional
        Other words for a key by its section and name; left out, `OTHER_WORDS` for visits.
    least : float
        Likeness from which a header is taken for a key [-].

    Returns
    -------
    dict of int to Key
        By place of the header; no key comes twice.
    """
    other = {("visit", name): some for name, some in OTHER_WORDS.items()} if words is None else words
    named = [
        (key, key.name.replace("_", " "), _names(key.words, other.get((key.section, key.name), ())))
        for key in keys
    ]
    scored = [
        (likeness, -place, number)
        for place, wordings in enumerate(headers)
        for rank, bare in enumerate(map(_bare, wordings))
        for number, (_, plain, names) in enumerate(named)
        if (likeness := _likeness(bare, plain, names, least) - PER_WORDING * rank) >= least
    ]
    found: dict[int, Key] = {}
    for _, negative, number in sorted(scored, key=lambda one: (-one[0], -one[1], one[2])):
        key = named[number][0]
        if -negative not in found and key not in found.values():
            found[-negative] = key
    return found


def _names(words: str, others: tuple[str, ...]) -> tuple[str, ...]:
    """A key's words and other words for it, bare."""
    return (_bare(words), *map(_bare, others))


@lru_cache(maxsize=MOST_REMEMBERED)
def _likeness(bare: str, plain: str, names: tuple[str, ...], least: float) -> float:
    """How much a bare header is like a key, 0 to 1; what is far from it is 0."""
    if not bare or bare == plain:
        return 1.0 if bare else 0.0
    if bare in names:
        return 0.99
    likeness = 0.0
    for asked in (plain, *names) if least < SURE else ():
        if len(bare) > 2 * len(asked) or len(asked) > 2 * len(bare):
            continue  # less than `LIKENESS` at best
        matcher = SequenceMatcher(None, bare, asked, autojunk=False)
        if matcher.quick_ratio() >= LIKENESS:
            likeness = max(likeness, SURE * matcher.ratio())
    return likeness


@lru_cache(maxsize=MOST_REMEMBERED)
def _bare(text: str) -> str:
    """A header without its unit, in small letters, words parted by single spaces; empty of a text."""
    if len(text) > LONGEST_HEADER:
        return ""
    found = _UNIT_AT_END.search(text)
    unit = found[1] if found else ""
    header, text = text, text[: found.start()] if found else text
    plain = re.sub(r"[\[(][^\])]*[\])]", " ", text.lower())
    if unit.lower() in PRESSURES and "pressure" not in plain:
        plain += " pressure"
    plain = re.sub(r"\btemp\b\.?", "temperature", plain)
    if plain.strip() in PIPES:  # alone, the unit says what of it
        plain += " temperature" * bool(_TEMPERATURE_AT_END.search(header))
        plain += " pressure" * bool(_PRESSURE_IN_BRACKETS.search(header))
    plain = re.sub(r"\b(suct|liq|disch)\b", lambda found: SHORT[found[1]], plain)
    plain = re.sub(r"\bdry bulb\b", "db", plain)
    plain = re.sub(r"\bwet bulb\b", "wb", plain)
    return " ".join(re.findall(r"[a-z]+|\d+", plain.replace("_", " ")))


def column_named(header: str, key: Key) -> Column:
    """What a column of a reading holds, with the unit in its header.

    Parameters
    ----------
    header : str
        As written: the unit in brackets, or at its end.
    key : Key
        The reading.

    Returns
    -------
    Column

    Raises
    ------
    ValueError
        When the unit is not one of the reading.
    """
    bracket = re.search(r"[\[(]([^\])]*)[\])]\s*$", header)
    unit = bracket[1] if bracket else unit_at_end(header)
    return column_of(f"{key.name} [{unit}]" if unit else key.name, key.section) or Column(key)


def unit_at_end(header: str) -> str:
    """Unit at the end of a header that stands there without brackets; empty where there is none.

    Parameters
    ----------
    header : str
        As written.

    Returns
    -------
    str
        Such as "psig".
    """
    found = _UNIT_AT_END.search(header)
    return found[1] if found else ""
