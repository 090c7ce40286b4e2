# %% [markdown]
# # The packages as a library: one invented unit from its readings to a decision
#
# Run it whole (`python cases/walkthrough.py`) or cell by cell in an editor that knows `# %%` cells. Inside
# the packages all is SI: K, Pa absolute, W, kg/s, fractions; units change where something is printed.
# `cases/demo.toml` is invented: place, unit and every number. The truth behind it is a face blocked by 46 %.
#
# Readings on a real unit are taken by licensed and certified people, and no running coil is ever blocked.

# %%
from dataclasses import replace
from pathlib import Path

import numpy as np

from calibration import baseline_of, find, measured_performance, predicted, read_case
from calibration.case.units import CAPACITY, EFFICIENCY, TEMPERATURE
from model import HEALTHY, Faults, rating_conditions, solve

case = read_case(Path(__file__).with_name("demo.toml"))
(found,) = case.found_visits
print(f"{case.unit.name}: {len(case.visits)} visits, the last on {found.date}")

# %% [markdown]
# ## What was measured, and how sure is it?
# Every figure is an estimate with a standard error from the accuracy of the meters.

# %%
performance = measured_performance(found, case.unit, case.instruments)
for name, estimate in performance.estimates().items():
    low, high = estimate.ends
    print(f"  {name:26s} {estimate.value:12.4g}   90 % of the time between {low:.4g} and {high:.4g}   [SI]")

# %% [markdown]
# ## What does clean look like for this unit?
# The typical unit with this nameplate, adjusted to the clean visits. Each parameter has its standard error.

# %%
baseline = baseline_of(case)
worst = max(baseline.residuals, key=lambda one: abs(one.standardised))
print(f"fitted to {baseline.readings} readings")
print(f"furthest off is {worst.reading}, by {worst.standardised:+.1f} standard errors")
clean = predicted(baseline, rating_conditions())
capacity, error = clean.point.net_capacity, clean.standard_errors["net_capacity"]
label = CAPACITY.label("US")
print(
    f"clean at the rating conditions: {float(CAPACITY.from_si(capacity, 'US')):,.0f} {label}, "
    f"give or take {float(CAPACITY.from_si(error, 'US')):,.0f} {label}"
)

# %% [markdown]
# ## What would a blocked face do? Fouling is simulated, so no running coil is ever blocked.
# Conditions and faults are arrays: one call solves every blocked share at every outdoor temperature.

# %%
blocked = np.array([0.0, 0.2, 0.4, 0.6])[:, None]
outdoor = np.array([300.0, 308.15, 316.0])
weather = replace(rating_conditions(), outdoor_temperature=outdoor)
points = solve(baseline.unit, weather, Faults(condenser_blocked=blocked))
print("EER in Btu/(W h), one row a blocked share, one column an outdoor temperature")
print("         " + "  ".join(f"{TEMPERATURE.from_si(t, 'US'):5.0f} degF" for t in outdoor))
for share, row, states in zip(blocked[:, 0], points.eer, points.state_names(), strict=True):
    cells = (f"{EFFICIENCY.from_si(eer, 'US'):10.2f}" for eer in row)
    print(f"  {share:4.0%}  {''.join(cells)}   {', '.join(sorted(set(np.ravel(states))))}")

# %% [markdown]
# ## What is wrong, which readings are suspect, and what does it cost?

# %%
finding = find(case, found, baseline=baseline)
for one in finding.probabilities[:3]:
    print(f"  {one.key:26s} {one.probability:6.1%}")
print(f"verdict: {finding.verdict}; to do: {', '.join(finding.claimed)}")
print(f"suspect readings: {', '.join(one.reading for one in finding.suspects) or 'none'}")
share = finding.blocked
print(f"blocked share of the face: {share.value:.0%}, between {share.low:.0%} and {share.high:.0%}")
loss = finding.loss.eer_share
print(f"EER lost in this weather: {loss.value:.1%}, between {loss.low:.1%} and {loss.high:.1%}")

# %% [markdown]
# ## How well is an operating point solved?
# Every point comes with the largest of its scaled residuals, and with the name of any limit it reaches.

# %%
point = solve(baseline.unit, rating_conditions(), HEALTHY)
print(f"residual {float(point.residual):.1e}; state {point.state_names()}")
