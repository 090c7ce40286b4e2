"""A unit of several circuits: what each fouling costs, added up.

Every circuit is found and costed as a unit of its own (`calibration.case.circuits`). Their draws are added
one by one, as if what is not known of one were not known of the others in the same direction: the range of
the sum is then as wide as it can be.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from calibration.case.circuits import circuit_cases
from calibration.case.records import Case
from calibration.clean_fit.baseline import baseline_of
from calibration.costs.cleaning_interval import IntervalFindings
from calibration.costs.season_cost import SeasonFindings, season_findings
from calibration.diagnosis.finding import Finding
from calibration.estimate import Estimate
from calibration.heating.winter_findings import whole_winter
from model.arrays import Array
from model.season.added_years import added_costs


def circuit_seasons(
    case: Case, known: Mapping[str, SeasonFindings], today: dt.date | None = None
) -> tuple[SeasonFindings, ...]:
    """The season of every circuit, as of one day.

    Parameters
    ----------
    case : Case
        Of the whole unit.
    known : mapping of str to SeasonFindings
        Those that are there already, by the name of the circuit's case.
    today : date, optional
        Left out, the last visit to any circuit.

    Returns
    -------
    tuple of SeasonFindings
        In the order of the circuits.

    Raises
    ------
    ValueError
        Where a season cannot be simulated.
    """
    day = today or case.last_date
    return tuple(
        known[one.unit.name] if one.unit.name in known else season_findings(one, baseline_of(one), day)
        for one in circuit_cases(case)
    )


def whole_season(circuits: Sequence[SeasonFindings]) -> SeasonFindings:
    """The season of the unit from those of its circuits.

    Parameters
    ----------
    circuits : sequence of SeasonFindings
        One for each, of as many draws.

    Returns
    -------
    SeasonFindings
        Costs of all together; fouling, growth and trip are those of the circuit whose fouling costs most.

    Raises
    ------
    ValueError
        Where there is none.
    """
    if not circuits:
        raise ValueError("circuits must hold one at least, got none")
    dearest = max(circuits, key=lambda one: int(one.today.year_cents[0]))
    return replace(
        dearest,
        today=added_costs([one.today for one in circuits]),
        coming=added_costs([one.coming for one in circuits]),
        today_drawn=added_costs([one.today_drawn for one in circuits]),
        coming_drawn=added_costs([one.coming_drawn for one in circuits]),
        extra_today=None,
        extra_coming=None,
        winter=whole_winter([one.winter for one in circuits]),
    )


@dataclass(frozen=True)
class WholeUpkeep:
    """Fouling and cleanings of all circuits in the long run, each cleaned as advised for it.

    Attributes
    ----------
    price : float
        Of one cleaning of all circuits [money].
    advised, never : float
        Cost of dirt and cleanings a year, over always clean coils: as advised, and never cleaned [money/a].
    advised_drawn, never_drawn : ndarray, shape (draws,)
        The same for every draw.
    """

    price: float
    advised: float
    never: float
    advised_drawn: Array
    never_drawn: Array


def whole_upkeep(circuits: Sequence[IntervalFindings]) -> WholeUpkeep:
    """Long-run costs of the unit from those of its circuits.

    Parameters
    ----------
    circuits : sequence of IntervalFindings
        One for each, of as many draws.

    Returns
    -------
    WholeUpkeep
    """
    likely = [(one.costs, one.costs.clean_per_year) for one in circuits]
    drawn = [(one.drawn, one.drawn.clean_per_year) for one in circuits]
    return WholeUpkeep(
        price=sum(one.cleaning.price for one in circuits),
        advised=float(sum(costs.advised_per_year[0] - clean[0] for costs, clean in likely)),
        never=float(sum(costs.never_per_year[0] - clean[0] for costs, clean in likely)),
        advised_drawn=np.asarray(sum(costs.advised_per_year - clean for costs, clean in drawn)),
        never_drawn=np.asarray(sum(costs.never_per_year - clean for costs, clean in drawn)),
    )


@dataclass(frozen=True)
class Output:
    """What the circuits give and use together; ranges as wide as if all errors went one way.

    Attributes
    ----------
    capacity, power : Estimate
        Net of the blower; of outdoor unit and blower [W].
    """

    capacity: Estimate
    power: Estimate

    @property
    def eer(self) -> float:
        """Capacity over power [W/W]."""
        return self.capacity.value / self.power.value


def added_output(capacities: Sequence[Estimate], powers: Sequence[Estimate]) -> Output:
    """The unit's capacity and power from those of its circuits.

    Parameters
    ----------
    capacities, powers : sequence of Estimate
        One for each circuit [W].

    Returns
    -------
    Output
    """
    return Output(_added(capacities), _added(powers))


def whole_loss(findings: Sequence[Finding]) -> tuple[Output, Output]:
    """What the unit would give and use in design weather, clean, and what its faults take and add.

    Parameters
    ----------
    findings : sequence of Finding
        Of the last as-found visit to each circuit.

    Returns
    -------
    (Output, Output)
        Clean; capacity lost and power added.
    """
    losses = [one.design_loss for one in findings]
    clean = added_output([one.clean_capacity for one in losses], [one.clean_power for one in losses])
    return clean, added_output([one.capacity_lost for one in losses], [one.power_added for one in losses])


def _added(parts: Sequence[Estimate]) -> Estimate:
    return Estimate(
        sum(one.value for one in parts), sum(one.low for one in parts), sum(one.high for one in parts)
    )
