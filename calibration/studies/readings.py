"""The published tests with one gross error put into one reading at a time: which reading is suspect.

The nine fault-free tests of NISTIR 7350 stand in for visits of a careful technician with good meters; each is
judged by the unit as fitted to another of them. The dew points of the source are turned into wet bulbs, as a
psychrometer would have shown them. Untouched tests should have no suspect reading; with an error put in, the
suspect reading should be that one, and no other beside it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from calibration.case.meters import Instruments
from calibration.case.records import Visit
from calibration.case.units import DEGREE_F, PSI
from calibration.clean_fit.baseline import Baseline, fit_baseline
from calibration.diagnosis.finding import SUSPECT
from calibration.diagnosis.gross_errors import HUNTING_VALVE
from calibration.diagnosis.hypotheses import hypotheses
from calibration.diagnosis.posterior import posterior_of
from calibration.diagnosis.scene import scene
from calibration.studies.laboratory import DESCRIPTION, INSTRUMENTS, TABLE, laboratory_rows, laboratory_visit
from model.properties import moist_air


@dataclass(frozen=True)
class GrossError:
    """An error put into one reading.

    Attributes
    ----------
    reading : str
        Key of the case file.
    words : str
        What is done to it.
    factor : float
        On the reading [-].
    shift : float
        Added to it [SI].
    """

    reading: str
    words: str
    factor: float = 1.0
    shift: float = 0.0

    def put_into(self, visit: Visit) -> Visit:
        """The visit with this error."""
        return replace(visit, **{self.reading: self.factor * getattr(visit, self.reading) + self.shift})


ERRORS = (
    GrossError("suction_pressure", "15 psi high", shift=15.0 * PSI),
    GrossError("liquid_pressure", "15 psi high", shift=15.0 * PSI),
    GrossError("discharge_pressure", "15 psi high", shift=15.0 * PSI),
    GrossError("return_wb", "3 degF high", shift=3.0 * DEGREE_F),
    GrossError("supply_wb", "3 degF high", shift=3.0 * DEGREE_F),
    GrossError("indoor_airflow_standard", "20 % low", factor=0.8),
    GrossError("outdoor_power", "one leg only: half", factor=0.5),
    GrossError("indoor_power", "one leg only: half", factor=0.5),
    GrossError("suction_temperature", "8 degF low", shift=-8.0 * DEGREE_F),
    GrossError("liquid_temperature", "8 degF low", shift=-8.0 * DEGREE_F),
    GrossError("discharge_temperature", "8 degF low", shift=-8.0 * DEGREE_F),
)
"""Errors of everyday: a hose closed, a wick dry, a traverse short, one clamp for two legs, a loose probe."""

FIRST_WANTED, INNOCENT_WANTED, FALSE_WANTED = 0.97, 0.02, 0.05
"""Shares that the project asks of itself [-]."""
FITTED, FITTED_FOR_ITSELF = 5, 7
"""Test that the unit is fitted to, and the one it is fitted to where that test is judged."""


@dataclass(frozen=True)
class ReadingTrial:
    """One test with one error, or untouched.

    Attributes
    ----------
    test : str
    error : GrossError or None
    place : int or None
        Place of the reading with the error among all by their probability to be wrong, 1 the first; None
        where untouched.
    suspects : tuple of str
        Readings that are more probably wrong than right, the most probable first.
    """

    test: str
    error: GrossError | None
    place: int | None
    suspects: tuple[str, ...]

    @property
    def named(self) -> bool:
        """Whether the reading with the error is suspect before any other."""
        return self.error is not None and self.suspects[:1] == (self.error.reading,)

    @property
    def innocent(self) -> bool:
        """Whether a reading without an error is suspect."""
        right = self.error.reading if self.error is not None else ""
        return any(reading != right for reading in self.suspects)


@dataclass(frozen=True)
class ReadingsStudy:
    """Every test with every error.

    Attributes
    ----------
    trials : tuple of ReadingTrial
        With an error.
    untouched : tuple of ReadingTrial
    """

    trials: tuple[ReadingTrial, ...]
    untouched: tuple[ReadingTrial, ...]

    def of(self, error: GrossError) -> tuple[ReadingTrial, ...]:
        """Trials with this error."""
        return tuple(trial for trial in self.trials if trial.error == error)

    @property
    def first(self) -> float:
        """Share of trials in which the reading most probably wrong is the right one [-]."""
        return share_placed(self.trials, 1)

    @property
    def first_two(self) -> float:
        """Share of trials with the right one among the two most probably wrong [-]."""
        return share_placed(self.trials, 2)

    @property
    def raised(self) -> float:
        """Share of trials with any suspect reading [-]."""
        return sum(bool(trial.suspects) for trial in self.trials) / len(self.trials)

    @property
    def named(self) -> float:
        """Share of trials in which the right reading is suspect before any other [-]."""
        return sum(trial.named for trial in self.trials) / len(self.trials)

    @property
    def innocent(self) -> float:
        """Share of trials in which a reading without an error is suspect [-]."""
        return sum(trial.innocent for trial in self.trials) / len(self.trials)

    @property
    def false_alarms(self) -> float:
        """Share of untouched tests with a suspect reading [-]."""
        return sum(bool(trial.suspects) for trial in self.untouched) / len(self.untouched)

    @property
    def met(self) -> bool:
        """Whether all shares are as wanted."""
        return (
            self.first >= FIRST_WANTED
            and self.innocent <= INNOCENT_WANTED
            and self.false_alarms <= FALSE_WANTED
        )


def share_placed(trials: tuple[ReadingTrial, ...], place: int) -> float:
    """Share of trials with the right reading at this place or before [-]."""
    return sum(trial.place is not None and trial.place <= place for trial in trials) / len(trials)


def readings_study(
    as_found: bool = False,
    instruments: Instruments = INSTRUMENTS,
    path: Path = TABLE,
    progress: Callable[[float], None] | None = None,
) -> ReadingsStudy:
    """Put every error into every test and see which reading is suspect.

    Parameters
    ----------
    as_found : bool
        Whether the visits are judged as of a unit that anything may be wrong with.
    instruments : Instruments
        Meters that the readings are taken to be from.
    path : Path
        The published table.
    progress : callable, optional
        Called with the share done [-].

    Returns
    -------
    ReadingsStudy
    """
    visits = {int(row["test"]): with_wet_bulbs(laboratory_visit(row)) for row in laboratory_rows(path)}
    units = {
        number: fit_baseline(DESCRIPTION, [visits[number]], instruments, rated=False)
        for number in (FITTED, FITTED_FOR_ITSELF)
    }
    trials, untouched = [], []
    for done, (number, visit) in enumerate(visits.items()):
        fitted = FITTED if number != FITTED else FITTED_FOR_ITSELF
        judged = replace(visit, coil="as found") if as_found else visit

        def judge(one: Visit, error: GrossError | None, fitted: int = fitted) -> ReadingTrial:
            return _trial(one, error, visits[fitted], units[fitted], instruments)

        untouched.append(judge(judged, None))
        for place, error in enumerate(ERRORS):
            trials.append(judge(error.put_into(judged), error))
            if progress is not None:
                progress((done + (place + 1) / len(ERRORS)) / len(visits))
    return ReadingsStudy(tuple(trials), tuple(untouched))


def _trial(
    visit: Visit, error: GrossError | None, other: Visit, unit: Baseline, instruments: Instruments
) -> ReadingTrial:
    """One visit judged by the unit as another one knows it: it cannot vouch for itself."""
    place = scene(unit, [other], visit, instruments)
    found = posterior_of(place, hypotheses(visit.called_for, visit.coil == "clean"))
    chances = {
        name: one.probability
        for name, one in zip(found.errors.names, found.supported(), strict=True)
        if name != HUNTING_VALVE
    }
    order = sorted(chances, key=lambda name: -chances[name])
    place_of = None if error is None else 1 + order.index(error.reading)
    return ReadingTrial(
        visit.label, error, place_of, tuple(name for name in order if chances[name] >= SUSPECT)
    )


def with_wet_bulbs(visit: Visit) -> Visit:
    """A visit with dew points as the same visit with wet bulbs.

    Parameters
    ----------
    visit : Visit
        With dry bulbs and dew points of return and supply air [K].

    Returns
    -------
    Visit
        With wet bulbs [K], not above the dry bulbs, in the place of the dew points.
    """
    pressure = visit.ambient_pressure
    bulbs = {}
    for side in ("return", "supply"):
        dry = float(getattr(visit, f"{side}_db"))
        ratio = moist_air.humidity_ratio_from_dew_point(getattr(visit, f"{side}_dewpoint"), pressure)
        bulbs[f"{side}_wb"] = min(float(moist_air.wet_bulb(dry, ratio, pressure)), dry)
    return replace(
        visit,
        return_dewpoint=None,
        supply_dewpoint=None,
        return_wb=bulbs["return_wb"],
        supply_wb=bulbs["supply_wb"],
    )
