"""A visit as rows to be explained and numbers not exactly known: what every explanation is held against.

Rows are all readings that were taken or might yet be taken, and the settings (weather, return air). Behind
them stand latent numbers with a normal prior: the unit's parameters (the clean fit's posterior, widened by
what changes from day to day), the day's own airflow, and the settings' errors. For given causes the cycle
gives each row and its slope with respect to every latent number.

The measured indoor airflow is a reading here, not a setting: the unit has an airflow of its own, that of its
clean visits (of its nameplate without one), a fault may take from it, and the meter shows what is left. The
pressure with the unit off is a reading too: the refrigerant's saturation pressure at the temperature around
the unit plus the pressure of non-condensable gas.

A pipe at saturation stays there whatever moves a little, so slopes taken at a flooded coil or at flash gas
lead nowhere. Where gauge and pipe clearly show superheat or subcooling, that pipe's temperature carries on
beyond saturation by the refrigerant's enthalpy: evidence finds the way out of a state that was not read.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from calibration.case.records import Visit
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.observation import conditions, point_readings
from calibration.clean_fit.parameters import NAMES, adjusted
from calibration.clean_fit.sensitivities import PARAMETER_STEPS, setting_steps, stepped
from model.arrays import Array, BoolArray, IndexArray
from model.components.fans import fan_power_ratio, resistance
from model.components.unit import Unit
from model.cycle import batch_arrays
from model.cycle.boundary import BLOWER_AIR_DENSITY
from model.cycle.faults import Faults
from model.cycle.operating_point import liquid_flash, suction_wetness
from model.cycle.solve import STATE_CODES, OperatingPoint, solve
from model.properties.moist_air import STANDARD_PRESSURE
from model.properties.refrigerant import refrigerant

DAY_TO_DAY: dict[str, float] = {
    "displacement": 0.005,
    "efficiency": 0.01,
    "condenser_conductance": 0.03,
    "condenser_airflow": 0.02,
    "fan_power": 0.02,
    "coil_conductance": 0.03,
    "charge": 0.02,
    "expansion_area": 0.02,
    "static_superheat": 0.3,
    "suction_line": 0.10,
}
"""Spread of parameters between two visits of a unit with nothing wrong, on top of the fit (in the parameters'
units: wind on the condenser, a charge touched up within its tolerance, wear, insulation): common practice, no
source."""
RESPONSE_SPREAD = 0.10
"""The model's own error in what a fault changes, as a share of the change [-]: charge effects lie within 4
points of the published correlation over 20 % of charge (Domanski, Henderson, Payne 2014), fouling effects
scatter more."""
BLOWER_RESPONSE_SPREAD = 1.0
"""The same of the power of a blower of constant airflow [-]: one that is set too low draws less, one that
works against a dirty filter as much as before or more, so that not even the sign is sure. Judgement, no
source."""
STANDING_GAS_SHARE = {"TXV": 1.0, "fixed orifice": 0.6}
"""Share of the gas's partial pressure in the running condenser that stands at the liquid port with the unit
off [-]: a closed valve keeps it there, an orifice lets it spread over both coils; common practice, no
source."""
STANDING_GAS_SPREAD = 0.25
"""Standard deviation of that share [-]."""
NONCONDENSABLE_TEMPERATURE = 313.15
"""Temperature at which `model.cycle.faults.Faults.noncondensable` is stated [K]."""
STOPPED = [
    STATE_CODES[name]
    for name in (
        "low-pressure trip",
        "high-pressure trip",
        "near-critical condensing",
        "device overfeeds",
        "not converged",
    )
]
"""States in which no readings of a running unit can be taken."""
CLEARLY_OFF = 2.0
"""Measured superheat or subcooling from which a pipe is not at saturation [K]: more than its probe and the
gauge may err."""
STANDING = "standing_pressure"
BLOWER = "indoor_power"
"""Blower's power, a setting and a reading at once: it heats the air, and the fan law says what it is."""
BLOWER_STEP = 0.02
"""Step of the blower's power for its slopes, over the power [-]."""
PARAMETERS = len(NAMES)
"""Latent numbers: the parameters, then the day's airflow (logarithm over the unit's own), then the
settings."""


class Circumstances(NamedTuple):
    """What sets operating points beside the latent numbers: of one visit, or of several alike.

    Of one visit plain numbers, of several an array with a number for each point: the unit before its
    parameters move, the settings (settings, …) in the order of `Scene.setting_names`, air pressure [Pa],
    speeds over full speed [-], dry-air flow of the unit with nothing wrong [kg/s], temperature around the
    idle unit [K]; whether superheat and subcooling were clearly read, 1 or 0.
    """

    generic: Unit
    settings: Array
    ambient_pressure: Array | float
    compressor_speed: Array | float
    outdoor_fan_speed: Array | float
    own_airflow: Array | float
    standing_temperature: Array | float
    superheat_read: Array | float
    subcooling_read: Array | float


@dataclass(frozen=True)
class Scene:
    """One visit against one fitted unit.

    Attributes
    ----------
    baseline : Baseline
    visit : Visit
    settings : mapping of str to float
        What sets the operating point, the airflow left out [SI].
    setting_names : tuple of str
        Those of the settings whose errors count, the blower's power last; the others are the last rows.
    names : tuple of str
        Rows: readings of the running unit, airflow, pressure with the unit off, blower's power where it was
        read, then the other settings.
    point_names : tuple of str
        Those of the running unit.
    taken : array of bool (rows,)
        Which were read; a setting that was only assumed counts as not taken.
    values : array (rows,)
        Readings in the row's unit, 0 where not taken. The airflow's row holds the logarithm of measured over
        own airflow, all others SI.
    meter : array (rows,)
        Standard error of the meter, also of those not used yet, in the row's unit.
    own : array (rows,)
        Standard deviation of what else belongs to that row alone (the model's own error), in the row's unit.
    prior_mean, prior_covariance : arrays (latents,), (latents, latents)
        Of parameters, airflow and settings; the last two as deviations.
    own_airflow : float
        Dry-air flow of the unit with nothing wrong [kg/s].
    standing_temperature : float
        Around the idle unit; the outdoor air's where it was not read [K].
    """

    baseline: Baseline
    visit: Visit
    settings: Mapping[str, float]
    setting_names: tuple[str, ...]
    names: tuple[str, ...]
    point_names: tuple[str, ...]
    taken: BoolArray
    values: Array
    meter: Array
    own: Array
    prior_mean: Array
    prior_covariance: Array
    own_airflow: float
    standing_temperature: float

    @property
    def given(self) -> Circumstances:
        """What sets its operating points beside the latent numbers."""
        visit = self.visit
        return Circumstances(
            self.baseline.generic,
            np.array([self.settings[name] for name in self.setting_names]),
            visit.ambient_pressure,
            visit.compressor_speed,
            visit.outdoor_fan_speed,
            self.own_airflow,
            self.standing_temperature,
            *self._off_saturation(),
        )

    def _off_saturation(self) -> tuple[float, float]:
        """Whether superheat and subcooling were clearly read, 1 or 0."""
        visit, fluid = self.visit, refrigerant(self.baseline.generic.refrigerant)
        superheat = subcooling = 0.0
        if visit.suction_pressure is not None and visit.suction_temperature is not None:
            superheat = visit.suction_temperature - float(fluid.dew_temperature(visit.suction_pressure))
        if visit.liquid_pressure is not None and visit.liquid_temperature is not None:
            subcooling = float(fluid.bubble_temperature(visit.liquid_pressure)) - visit.liquid_temperature
        return float(superheat > CLEARLY_OFF), float(subcooling > CLEARLY_OFF)

    @property
    def setting_rows(self) -> int:
        """How many rows at the end are settings."""
        return len(self.setting_names) - (BLOWER in self.setting_names)

    @property
    def readings(self) -> IndexArray:
        """Rows that are explained: those taken, settings left out."""
        places = np.arange(len(self.names))
        return np.flatnonzero(self.taken & (places < len(self.names) - self.setting_rows))

    @property
    def airflow_row(self) -> int:
        """Row of the indoor airflow."""
        return len(self.point_names)

    @property
    def standing_row(self) -> int:
        """Row of the pressure with the unit off."""
        return len(self.point_names) + 1


@dataclass(frozen=True)
class Response:
    """What the rows show under some faults, linear around the latent numbers' prior means.

    expected (…, rows) at the prior means, slopes (…, rows, latents), running (…,): whether the unit runs
    there without tripping; unknowns (…, count) of the cycle there, the shape flattened.
    """

    expected: Array
    slopes: Array
    running: BoolArray
    unknowns: Array

    def at(self, places: IndexArray | int) -> Response:
        """The response at some places of its first axis.

        Parameters
        ----------
        places : ndarray of int, shape (n,), or int
            Places of the first axis.

        Returns
        -------
        Response
            With a first axis of length n, without one for an int.
        """
        return Response(
            self.expected[places], self.slopes[places], self.running[places], self.unknowns[:, places]
        )

    def replaced(self, places: IndexArray, other: Response) -> Response:
        """The response with another one's values at some places of its first axis, where that one runs.

        Parameters
        ----------
        places : ndarray of int, shape (n,)
            Places of the first axis.
        other : Response
            With a first axis of length n.

        Returns
        -------
        Response
            A new one.
        """
        ran = np.flatnonzero(other.running)
        places, other = places[ran], other.at(ran)
        expected, slopes, unknowns = self.expected.copy(), self.slopes.copy(), self.unknowns.copy()
        running = self.running.copy()
        expected[places], slopes[places], running[places] = other.expected, other.slopes, other.running
        unknowns[:, places] = other.unknowns
        return Response(expected, slopes, running, unknowns)


class Asked(NamedTuple):
    """Levels of faults at which the rows of one visit are wanted: arguments of `solved`."""

    place: Scene
    faults: Faults
    latent: Array | None = None
    start: Array | None = None
    sloped: BoolArray | None = None


def blower_power(
    generic: Unit, ambient_pressure: ArrayLike, airflow: ArrayLike, left: ArrayLike = 1.0
) -> Array:
    """Power that a unit's blower should draw, by the fan law from the clean visits or the nameplate.

    A fixed-speed blower draws by the air it moves. One of constant airflow draws the same whatever its
    airflow is set to, and less by the airflow that a fault takes, as `model.cycle.boundary` has it.

    Parameters
    ----------
    generic : Unit
        The unit before its parameters were fitted.
    ambient_pressure : array_like
        Barometric pressure [Pa]; broadcasts with `airflow`, as the unit's numbers do.
    airflow : array_like, any shape
        Dry air that the blower moves [kg/s].
    left : array_like, shape of `airflow`
        Share of the airflow that faults leave [-].

    Returns
    -------
    ndarray
        [W], shape of `airflow`.
    """
    fan = generic.indoor_fan
    density = np.asarray(ambient_pressure) / STANDARD_PRESSURE
    rated = np.asarray(fan.airflow) * BLOWER_AIR_DENSITY * density
    ratio = np.asarray(left if fan.constant_airflow else np.asarray(airflow) / rated, dtype=float)
    drop = resistance(fan, ratio, 0.0, 0.0)
    power = np.asarray(fan.power) * fan_power_ratio(fan, ratio, drop) * density
    return np.asarray(np.broadcast_to(power, np.shape(airflow)), dtype=float)


def solved(
    place: Scene,
    faults: Faults,
    latent: Array | None = None,
    start: Array | None = None,
    sloped: BoolArray | None = None,
) -> Response:
    """Rows under faults, with their slopes.

    Parameters
    ----------
    place : Scene
    faults : Faults
        Levels of shape (count,), or plain numbers.
    latent : array (latents, count), optional
        Latent numbers to solve around; their prior means if not given.
    start : array (…, count), optional
        Unknowns of the cycle to start from.
    sloped : array of bool (count,), optional
        Where slopes are wanted; everywhere if not given. Elsewhere they are 0.

    Returns
    -------
    Response
        Leading shape (count,), none for plain numbers.
    """
    response = solved_together([Asked(place, faults, latent, start, sloped)])[0]
    return response if batch_arrays.common_shape(faults) else response.at(0)


def solved_together(asked: Sequence[Asked]) -> list[Response]:
    """Rows under faults of several visits of one unit; visits that are alike in one call of the cycle.

    Parameters
    ----------
    asked : sequence of Asked
        Faults of shape (count,) or plain numbers; `start` with all or with none.

    Returns
    -------
    list of Response
        One each, of leading shape (count,).
    """
    alike: dict[object, list[int]] = {}
    for number, one in enumerate(asked):
        alike.setdefault((one.place.names, one.place.setting_names), []).append(number)
    found: dict[int, Response] = {}
    for numbers in alike.values():
        found.update(zip(numbers, _solved_alike([asked[number] for number in numbers]), strict=True))
    return [found[number] for number in range(len(asked))]


class Again(NamedTuple):
    """What is solved again: levels of faults of one visit (n,), the response there, other latent numbers.

    The latent numbers have the shape (n, latents).
    """

    place: Scene
    faults: Faults
    response: Response
    around: Array


def solved_again(asked: Sequence[Again]) -> list[Response]:
    """Responses around other latent numbers.

    Where the unit does not run nothing can be read, so there is nothing to be solved again. Where it no
    longer does the latent numbers have led too far: there the response stays as it was.

    Parameters
    ----------
    asked : sequence of Again
        Of one visit or of several of one unit.

    Returns
    -------
    list of Response
        One each, of the shape of the one before.
    """
    runs = [np.flatnonzero(one.response.running) for one in asked]
    new = solved_together(
        [
            Asked(
                one.place,
                batch_arrays.chosen(one.faults, part),
                one.around[part].T,
                one.response.unknowns[:, part],
            )
            for one, part in zip(asked, runs, strict=True)
        ]
    )
    return [one.response.replaced(part, other) for one, part, other in zip(asked, runs, new, strict=True)]


def _solved_alike(asked: Sequence[Asked]) -> list[Response]:
    """Responses of visits whose rows and latent numbers have the same names."""
    place, given = asked[0].place, [one.place.given for one in asked]
    levels = [_flat(one.faults) for one in asked]
    counts = [each.shape[1] for each in levels]
    ends, flat = np.cumsum(counts)[:-1], np.concatenate(levels, axis=1)
    centre = _repeated([one.place.prior_mean for one in asked], counts)
    steps = _repeated([latent_steps(one.place) for one in asked], counts)
    means = np.split(centre, ends, axis=1)
    latents = [mean if one.latent is None else one.latent for one, mean in zip(asked, means, strict=True)]
    starts = [one.start for one in asked if one.start is not None]
    around, start = np.concatenate(latents, axis=1), np.concatenate(starts, axis=1) if starts else None
    whole = batch_arrays.joined(given, counts)
    point, first = _carried_on(place, whole, _shown(place, whole, Faults(*flat), around, start))
    running = ~np.isin(point.state, STOPPED)
    # Slopes are needed, and quick to find, only where the unit runs.
    sloped = [True if one.sloped is None else one.sloped for one in asked]
    some = running & np.concatenate([np.broadcast_to(*each) for each in zip(sloped, counts, strict=True)])
    part = batch_arrays.joined(given, [int(np.count_nonzero(each)) for each in np.split(some, ends)])
    columns = stepped(around[:, some], steps[:, some], first=0)
    # The neighbours are a small step away, so the point itself is the best place to start them from.
    near = _shown(place, part, Faults(*flat[:, some]), columns, point.unknowns[:, None, some])
    _, moved = _carried_on(place, part, near)
    slopes = np.zeros((running.size, *first.shape[:1], len(steps)))
    slopes[some] = np.moveaxis((moved - first[:, None, some]) / steps[:, some], -1, 0)
    expected = first.T + np.einsum("nrl,ln->nr", slopes, centre - around)
    response = Response(expected, slopes, running, point.unknowns)
    return [response.at(each) for each in np.split(np.arange(running.size), ends)]


def _flat(faults: Faults) -> Array:
    """Levels of faults, shape (fields, count)."""
    return np.stack(np.broadcast_arrays(*map(np.atleast_1d, vars(faults).values()))).astype(float)


def _repeated(values: Sequence[Array], counts: Sequence[int]) -> Array:
    """Numbers of several visits (numbers,), each for so many points (numbers, points)."""
    return np.stack(values, axis=1).repeat(counts, axis=1)


def latent_steps(place: Scene) -> Array:
    """Step of each latent number by which slopes are taken.

    Parameters
    ----------
    place : Scene
        For what is known of each number.

    Returns
    -------
    ndarray, shape (latents,)
        In the unit of each; negative where more would lead beyond saturated air.
    """
    spreads = np.sqrt(np.diag(place.prior_covariance))
    # The day's airflow, behind the parameters, moves like a setting.
    others = setting_steps(("", *place.setting_names), spreads[PARAMETERS:])
    if BLOWER in place.setting_names:
        others[1 + place.setting_names.index(BLOWER)] = BLOWER_STEP * place.settings[BLOWER]
    return np.concatenate([PARAMETER_STEPS, others])


def at_latent(place: Scene, latent: Array, faults: Faults, start: Array | None = None) -> OperatingPoint:
    """Operating point of the visit with given latent numbers.

    Parameters
    ----------
    place : Scene
        The visit, its settings and its baseline.
    latent : ndarray, shape (latents, …)
        In the unit of each latent number.
    faults : Faults
        Of a shape that broadcasts with the further axes of `latent`.
    start : ndarray, optional
        Unknowns of `model.cycle.balances` to start from.

    Returns
    -------
    OperatingPoint
        Of the further shape [SI].
    """
    return _point(place, place.given, latent, faults, start)


def _point(
    place: Scene, given: Circumstances, latent: Array, faults: Faults, start: Array | None
) -> OperatingPoint:
    moved = dict(zip(place.setting_names, _moved(given, latent), strict=True))
    weather = conditions(moved, given.ambient_pressure, given.compressor_speed, given.outdoor_fan_speed)
    weather = replace(weather, indoor_airflow=given.own_airflow * np.exp(latent[PARAMETERS]))
    unit = adjusted(given.generic, latent[:PARAMETERS])
    # What has no solution nearby cannot be read either: no time is spent on it.
    return solve(unit, weather, faults, start, patient=False)


def _moved(given: Circumstances, latent: Array) -> list[Array]:
    """Settings with their errors."""
    return [value + latent[number] for number, value in enumerate(given.settings, start=PARAMETERS + 1)]


def shown_rows(place: Scene, faults: Faults) -> Array:
    """What each row would show with the latent numbers at their prior means.

    Parameters
    ----------
    place : Scene
        The visit.
    faults : Faults
        Of shape (n,).

    Returns
    -------
    ndarray, shape (rows, n)
        In the row's unit.
    """
    return _shown(place, place.given, faults, place.prior_mean[:, None], None)[1]


def _shown(
    place: Scene, given: Circumstances, faults: Faults, latent: Array, start: Array | None
) -> tuple[OperatingPoint, Array]:
    """Operating points, and what each row shows there, shape (rows, …); names are those of `place`."""
    point = _point(place, given, latent, faults, start)
    readings = point_readings(point, place.point_names, given.ambient_pressure)
    left = np.log(np.maximum(point.indoor_airflow / given.own_airflow, 1e-6))
    share = STANDING_GAS_SHARE[given.generic.expansion.kind]
    fluid = refrigerant(given.generic.refrigerant)
    gas = np.asarray(faults.noncondensable) * given.standing_temperature / NONCONDENSABLE_TEMPERATURE
    rest = [left, fluid.bubble_pressure(given.standing_temperature) + share * gas]
    if BLOWER in place.names:
        own = point.indoor_airflow / (given.own_airflow * np.exp(latent[PARAMETERS]))
        rest.append(blower_power(given.generic, given.ambient_pressure, point.indoor_airflow, own))
    rest += _moved(given, latent)[: place.setting_rows]
    return point, np.concatenate([readings, np.stack([np.broadcast_to(one, left.shape) for one in rest])])


def _carried_on(
    place: Scene, given: Circumstances, shown: tuple[OperatingPoint, Array]
) -> tuple[OperatingPoint, Array]:
    """The same with the temperatures of pipes that were not read at saturation carried on beyond it."""
    point, rows = shown
    fluid, names = refrigerant(given.generic.refrigerant), place.names
    rows[names.index("suction_temperature")] -= given.superheat_read * suction_wetness(point, fluid)
    rows[names.index("liquid_temperature")] += given.subcooling_read * liquid_flash(point, fluid)
    return point, rows
