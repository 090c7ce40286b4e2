"""A visit as rows to be explained and numbers not exactly known: what every explanation is held against.

Rows are all readings that were taken or might yet be taken, and the settings (weather, return air). Behind
them stand latent numbers with a normal prior: the unit's parameters (the clean fit's posterior, widened by
what changes from day to day), the day's own airflow, and the settings' errors. For given causes the cycle
gives each row and its slope with respect to every latent number.

The measured indoor airflow is a reading here, not a setting: the unit has an airflow of its own, that of its
clean visits (of its nameplate without one), a fault may take from it, and the meter shows what is left. The
pressure with the unit off is a reading too: the refrigerant's saturation pressure at the temperature around
the unit plus the pressure of non-condensable gas.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from calibration.case.records import Visit
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.observation import (
    conditions,
    point_readings,
)
from calibration.clean_fit.parameters import (
    NAMES,
    adjusted,
    rated_standard_airflow,
)
from calibration.clean_fit.sensitivities import PARAMETER_STEPS, setting_steps, stepped
from model.arrays import Array, BoolArray, IndexArray
from model.components.fans import fan_power_ratio, resistance
from model.cycle.faults import Faults
from model.cycle.solve import STATE_CODES, OperatingPoint, solve
from model.properties import moist_air
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
STANDING = "standing_pressure"
BLOWER = "indoor_power"
"""Blower's power, a setting and a reading at once: it heats the air, and the fan law says what it is."""
BLOWER_STEP = 0.02
"""Step of the blower's power for its slopes, over the power [-]."""
PARAMETERS = len(NAMES)
"""Latent numbers: the parameters, then the day's airflow (logarithm over the unit's own), then the
settings."""


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

    def at(self, places: IndexArray) -> Response:
        """The response at some places of its first axis.

        Parameters
        ----------
        places : ndarray of int, shape (n,)
            Places of the first axis.

        Returns
        -------
        Response
            With a first axis of length n.
        """
        return Response(
            self.expected[places], self.slopes[places], self.running[places], self.unknowns[:, places]
        )

    def replaced(self, places: IndexArray, other: Response) -> Response:
        """The response with another one's values at some places of its first axis.

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
        expected, slopes, unknowns = self.expected.copy(), self.slopes.copy(), self.unknowns.copy()
        running = self.running.copy()
        expected[places], slopes[places], running[places] = other.expected, other.slopes, other.running
        unknowns[:, places] = other.unknowns
        return Response(expected, slopes, running, unknowns)


def blower_power(baseline: Baseline, visit: Visit, airflow: ArrayLike, left: ArrayLike = 1.0) -> Array:
    """Power that this unit's blower should draw, by the fan law from the clean visits or the nameplate.

    A fixed-speed blower draws by the air it moves. One of constant airflow draws the same whatever its
    airflow is set to, and less by the airflow that a fault takes, as `model.cycle.boundary` has it.

    Parameters
    ----------
    baseline : Baseline
        The clean unit.
    visit : Visit
        For the local air pressure.
    airflow : array_like, any shape
        Dry air that the blower moves [kg/s].
    left : array_like, shape of `airflow`
        Share of the airflow that faults leave [-].

    Returns
    -------
    ndarray
        [W], shape of `airflow`.
    """
    fan = baseline.generic.indoor_fan
    density = visit.ambient_pressure / STANDARD_PRESSURE
    rated = rated_standard_airflow(baseline.generic) * moist_air.STANDARD_AIR_DENSITY * density
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
    """Rows under faults, with their slopes, in one call of the cycle.

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
    names = tuple(vars(faults))
    levels = np.stack(
        np.broadcast_arrays(*(np.asarray(getattr(faults, name), dtype=float) for name in names))
    )
    shape, count = levels.shape[1:], len(place.prior_mean)
    flat = levels.reshape(len(names), -1)
    centre = place.prior_mean[:, None]
    around = np.broadcast_to(centre, (count, flat.shape[1])) if latent is None else latent
    given = Faults(**dict(zip(names, flat, strict=True)))
    point = at_latent(place, around, given, start)
    first = _rows(place, point, given, around)
    running = ~np.isin(point.state, STOPPED)
    # Slopes are needed, and quick to find, only where the unit runs.
    slopes = np.zeros((len(place.names), count, flat.shape[1]))
    chosen = running if sloped is None else running & sloped
    part = Faults(**dict(zip(names, flat[:, chosen], strict=True)))
    slopes[..., chosen] = _slopes(place, around[:, chosen], part, point.unknowns[:, chosen], first[:, chosen])
    expected = first + np.einsum("rl...,l...->r...", slopes, centre - around)
    return Response(
        expected=expected.T.reshape(*shape, -1),
        slopes=np.moveaxis(slopes, -1, 0).reshape(*shape, *slopes.shape[:2]),
        running=running.reshape(shape),
        unknowns=point.unknowns,
    )


def _slopes(place: Scene, around: Array, faults: Faults, unknowns: Array, first: Array) -> Array:
    """Slope of every row with respect to every latent number, shape (rows, latents, count)."""
    steps = latent_steps(place)
    columns = stepped(around, steps, first=0)
    # The neighbours are a small step away, so the point itself is the best place to start them from.
    point = at_latent(place, columns, faults, unknowns[:, None])
    return np.asarray((_rows(place, point, faults, columns) - first[:, None]) / steps[:, None])


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
    moved: dict[str, Array | float] = dict(place.settings)
    for number, name in enumerate(place.setting_names):
        moved[name] = place.settings[name] + latent[PARAMETERS + 1 + number]
    visit = place.visit
    weather = conditions(moved, visit.ambient_pressure, visit.compressor_speed, visit.outdoor_fan_speed)
    weather = replace(weather, indoor_airflow=place.own_airflow * np.exp(latent[PARAMETERS]))
    unit = adjusted(place.baseline.generic, latent[:PARAMETERS])
    # What has no solution nearby cannot be read either: no time is spent on it.
    return solve(unit, weather, faults, start, patient=False)


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
    centre = place.prior_mean[:, None]
    return _rows(place, at_latent(place, centre, faults), faults, centre)


def _rows(place: Scene, point: OperatingPoint, faults: Faults, columns: Array) -> Array:
    """What each row shows, shape (rows, columns, …)."""
    readings = point_readings(point, place.point_names, place.visit.ambient_pressure)
    left = np.log(np.maximum(point.indoor_airflow / place.own_airflow, 1e-6))
    kind = place.baseline.generic.expansion.kind
    fluid = refrigerant(place.baseline.generic.refrigerant)
    gas = np.asarray(faults.noncondensable) * place.standing_temperature / NONCONDENSABLE_TEMPERATURE
    standing = fluid.bubble_pressure(place.standing_temperature) + STANDING_GAS_SHARE[kind] * gas
    settings = [
        place.settings[name] + columns[PARAMETERS + 1 + number]
        for number, name in enumerate(place.setting_names[: place.setting_rows])
    ]
    share = point.indoor_airflow / (place.own_airflow * np.exp(columns[PARAMETERS]))
    blower = (
        [blower_power(place.baseline, place.visit, point.indoor_airflow, share)]
        if BLOWER in place.names
        else []
    )
    rest = [np.broadcast_to(value, left.shape) for value in (left, standing, *blower, *settings)]
    return np.concatenate([readings, np.stack(rest)])
