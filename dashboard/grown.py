"""Growth of fouling fitted to visits, as rows and sentences."""

from collections.abc import Sequence
from typing import Any

from calibration.growth_fit import Bounded, GrowthFit, SeverityPoint
from dashboard.figures import percent

HEADINGS = ("form", "probability", "growth a year from clean", "limit", "time constant [years]", "misfit")


def point_rows(points: Sequence[SeverityPoint]) -> list[tuple[str, str, str]]:
    """Visits: label, years since clean, blocked share with its 90 % interval."""
    return [
        (
            point.visit,
            f"{point.years:.2f}",
            f"{percent(point.value)} ({100 * point.low:.0f} to {percent(point.high)})",
        )
        for point in points
    ]


def fit_rows(fits: Sequence[GrowthFit]) -> list[tuple[str, ...]]:
    """Cells under `HEADINGS`, one row a form, the likeliest first."""
    return [
        (
            fit.form,
            percent(fit.probability),
            _shares(fit.rate),
            "-" if fit.limit is None else _shares(fit.limit),
            "-" if fit.time_constant is None else _numbers(fit.time_constant),
            f"{fit.misfit:.1f}",
        )
        for fit in fits
    ]


def _shares(one: Bounded) -> str:
    return f"{one.value:.1%} ({one.low:.1%} to {one.high:.1%})"


def _numbers(one: Bounded) -> str:
    return f"{one.value:.1f} ({one.low:.1f} to {one.high:.1f})"


def sentences(points: Sequence[SeverityPoint], fits: Sequence[GrowthFit]) -> list[str]:
    """What the visits say about growth, in plain words."""
    best = fits[0]
    if not points:
        return [
            "No as-found visit has a date and a cleaning before it: growth is the published span, "
            f"{_shares(best.rate)} of the face a year."
        ]
    told = [f"Growth a year from clean: {_shares(best.rate)} of the face, in the form {best.form}."]
    if best.probability < 0.7:
        told.append("These visits do not tell the forms of growth apart: more of them would.")
    return told


def growth_json(points: Sequence[SeverityPoint], fits: Sequence[GrowthFit]) -> dict[str, Any]:
    """Growth for `--json`."""
    return {
        "visits": [
            {
                "label": point.visit,
                "years_since_clean": round(point.years, 6),
                "value": point.value,
                "low": point.low,
                "high": point.high,
            }
            for point in points
        ],
        "forms": [
            {
                "form": fit.form,
                "probability": round(fit.probability, 6),
                "rate": _bounded(fit.rate),
                "limit": None if fit.limit is None else _bounded(fit.limit),
                "time_constant": None if fit.time_constant is None else _bounded(fit.time_constant),
                "misfit": round(fit.misfit, 6),
            }
            for fit in fits
        ],
        "sentences": sentences(points, fits),
    }


def _bounded(one: Bounded) -> dict[str, float]:
    return {name: float(f"{getattr(one, name):.6g}") for name in ("value", "low", "high")}
