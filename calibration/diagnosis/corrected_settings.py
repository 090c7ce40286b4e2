"""Settings that may be grossly wrong, each explanation linearised around the value that the others support.

The model takes some readings as settings: outdoor temperature, return air. What a gross error in one of them
does to all other readings is far from linear: with a return wet bulb read some kelvin too high a coil is
called wet that runs dry. Evidence for such an error from the slopes at the value as it was read would fall
short, and an innocent reading would be blamed. So where a setting may be wrong, the cycle is solved again at
the value that the others support, twice, and the evidence is that of the slopes there. A valve that sticks or
hunts is treated alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from calibration.diagnosis.evidence import (
    Inquiry,
    Weighed,
    likeliest_at_nodes,
    own_variance,
    weighed_one,
)
from calibration.diagnosis.gross_errors import FREE, GrossErrors, hottest_dry_bulb
from calibration.diagnosis.hypotheses import Hypothesis
from calibration.diagnosis.level_grid import joined_faults, level_grid
from calibration.diagnosis.likelihood import Likelihood, error_pairs
from calibration.diagnosis.visit_model import PARAMETERS, Again, Response, Scene, solved_again
from model.arrays import Array
from model.cycle.faults import Faults
from model.properties import moist_air

ROUNDS = 2
"""How often the cycle is solved around the corrected setting."""
LEAST = 7.0
"""Errors less probable than all explanations by more than this logarithm are not looked at again."""
OPEN = 0.3
"""From this probability on that some reading is wrong, all settings are looked at again, with no fault and
with the likeliest one [-]: those that seem out of the question may only seem so."""
MOST, PASSES = 6, 3
"""So many explanations with a wrong setting are looked at, the most probable ones, and so often those that
have become probable by what was found."""
LARGEST = 15.0
"""Settings are corrected by no more than this to be solved again [K]: there slopes that lead further end."""
INSIDE = 0.2
"""Corrected return air stays so far from saturated and from bone-dry air [K]."""


class _Choice(NamedTuple):
    """A visit, an explanation of it and a setting that may be wrong: places of all three."""

    visit: int
    number: int
    error: int


def with_corrected_settings(
    asked: Sequence[Inquiry], found: Sequence[Sequence[Weighed]]
) -> list[tuple[Weighed, ...]]:
    """Explanations with the evidence for wrong settings taken at the settings that the others support.

    Parameters
    ----------
    asked : sequence of Inquiry
        Visits, and what may be wrong about their readings.
    found : sequence of sequence of Weighed
        Explanations of each around the settings as they were read, no fault first.

    Returns
    -------
    list of tuple of Weighed
        In the order of `found`.
    """
    weighed, done = [list(each) for each in found], set[_Choice]()
    for _ in range(PASSES):
        chosen = []
        for visit, (one, each) in enumerate(zip(asked, weighed, strict=True)):
            likely = [_Choice(visit, *choice) for choice in _chosen(one.errors, each)]
            chosen += [choice for choice in likely if choice not in done][:MOST]
        if not chosen:
            break
        for (visit, number, error), again in zip(chosen, _again(asked, found, chosen), strict=True):
            weighed[visit][number] = _joined(weighed[visit][number], again, error)
        done.update(chosen)
    return [tuple(each) for each in weighed]


def _chosen(errors: GrossErrors, found: Sequence[Weighed]) -> list[tuple[int, int]]:
    """Explanations and wrong settings that count, the most probable first."""
    settings = np.flatnonzero(errors.rows < 0)
    possible = np.array([np.any(one.possible) for one in found])
    if settings.size == 0 or not np.any(possible):
        return []
    whole = np.array([one.evidence for one in found])
    total = float(np.logaddexp.reduce(whole))
    scores = np.array([np.logaddexp.reduce(one.one_wrong[:, settings], axis=0) for one in found])
    right = float(np.logaddexp.reduce([np.logaddexp.reduce(one.right) for one in found]))
    if right < total + np.log1p(-OPEN):
        for number in {0, int(np.argmax(whole))}:
            scores[number] = np.maximum(scores[number], total - LEAST)
    scores[~possible] = -np.inf
    numbers, places = np.unravel_index(np.argsort(-scores, axis=None, kind="stable"), scores.shape)
    return [
        (int(number), int(settings[at]))
        for number, at in zip(numbers, places, strict=True)
        if scores[number, at] >= total - LEAST
    ]


def _again(
    asked: Sequence[Inquiry], found: Sequence[Sequence[Weighed]], chosen: Sequence[_Choice]
) -> list[Weighed]:
    """Explanations linearised around one corrected setting each."""
    of, bases = [asked[one.visit] for one in chosen], [found[one.visit][one.number] for one in chosen]
    cleans = [found[one.visit][0].response.expected[0] for one in chosen]
    # What a fault itself changes is that at the settings as read: only its size counts.
    owns = [
        np.sqrt(own_variance(one.place, base.response.expected, clean))
        for one, base, clean in zip(of, bases, cleans, strict=True)
    ]
    faults = [_faults_at_nodes(base.hypothesis) for base in bases]
    responses = [base.response for base in bases]
    for _ in range(ROUNDS):
        around = [
            _around(one.place, one.errors, choice.error, response, own)
            for one, choice, response, own in zip(of, chosen, responses, owns, strict=True)
        ]
        columns = zip([one.place for one in of], faults, responses, around, strict=True)
        responses = solved_again([Again(*column) for column in columns])
    return [
        weighed_one(one.place, one.errors, base.hypothesis, response, clean, base.own)
        for one, base, response, clean in zip(of, bases, responses, cleans, strict=True)
    ]


def _faults_at_nodes(hypothesis: Hypothesis) -> Faults:
    return joined_faults((hypothesis,), [level_grid(len(hypothesis.faults)).nodes])


def _around(place: Scene, errors: GrossErrors, error: int, response: Response, own: Array) -> Array:
    """Likeliest latent numbers at some nodes with one setting wrong, that error in them (nodes, latents)."""
    around = likeliest_at_nodes(place, errors, response, own, error)
    part = Likelihood(place, errors, response.expected, response.slopes, own)
    size = part.pull[:, error] / (part.information[:, error, error] + FREE**-2)
    change = np.clip(errors.spread[error] * size, -LARGEST, LARGEST)
    around[:, errors.latents[error]] += change
    return _as_air_can_be(place, errors.names[error], around)


def _as_air_can_be(place: Scene, setting: str, around: Array) -> Array:
    """The latent numbers with a corrected setting of the return air between bone-dry and saturated."""
    if setting not in ("return_db", "return_wb") or "return_wb" not in place.setting_names:
        return around
    dry, wet = (PARAMETERS + 1 + place.setting_names.index(name) for name in ("return_db", "return_wb"))
    dry_bulb = place.settings["return_db"] + around[:, dry]
    wet_bulb = place.settings["return_wb"] + around[:, wet]
    pressure = place.visit.ambient_pressure
    if setting == "return_wb":
        driest = np.asarray(moist_air.wet_bulb(dry_bulb, 0.0, pressure))
        around[:, wet] += np.clip(wet_bulb, driest + INSIDE, dry_bulb - INSIDE) - wet_bulb
    else:
        hottest = hottest_dry_bulb(wet_bulb - INSIDE, pressure)
        around[:, dry] += np.clip(dry_bulb, wet_bulb + INSIDE, hottest) - dry_bulb
    return around


def _joined(base: Weighed, again: Weighed, error: int) -> Weighed:
    """An explanation with the evidence for one error from where that error is corrected.

    Where that error is what the explanation rests on, its expected readings and slopes are those, too.
    """
    columns = {name: getattr(base, name).copy() for name in ("one_wrong", "size", "variance")}
    for name, column in columns.items():
        column[:, error] = getattr(again, name)[:, error]
    joined = replace(base, **columns)
    if np.logaddexp.reduce(joined.one_wrong[:, error]) < joined.evidence - np.log(2.0):
        return joined
    two = base.two_wrong.copy()
    if two.size:
        with_it = np.any(error_pairs(base.one_wrong.shape[1]) == error, axis=1)
        two[:, with_it] = again.two_wrong[:, with_it]
    return replace(
        joined,
        expected=again.expected,
        pull=again.pull,
        information=again.information,
        two_wrong=two,
        response=again.response,
    )
