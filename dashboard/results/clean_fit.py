"""The clean-coil fit as figures and rows, for the command line, the pages and the report alike."""

from math import exp
from typing import Any

from calibration.case.records import Case
from calibration.case.units import System
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.parameters import PARAMETERS
from calibration.clean_fit.prediction import predicted
from calibration.estimate import with_error
from dashboard.results.figures import Figure, figure, to_json
from dashboard.results.prediction import prediction_figures, weather_of
from dashboard.results.wording import words_of
from dashboard.texts.translate import tr, tr_many
from model.properties.moist_air import STANDARD_PRESSURE


def residual_rows(baseline: Baseline, system: System) -> list[tuple[str, str, Figure, Figure, float]]:
    """Every reading of the clean visits beside the fit.

    Returns
    -------
    list of (visit, words, measured, fitted, standard errors)
    """
    rows = []
    for one in baseline.residuals:
        words = words_of(one.reading, "visit")
        pressure = baseline.ambient_pressures.get(one.visit, STANDARD_PRESSURE)
        shown = [
            figure(one.reading, value, system, ambient_pressure=pressure)
            for value in (one.measured, one.fitted)
        ]
        rows.append((one.visit, words, shown[0], shown[1], one.standardised))
    return rows


def parameter_rows(baseline: Baseline) -> list[tuple[str, str, str, str]]:
    """Each parameter: meaning, fitted over generic, 90 % range, and how much the visits narrowed it."""
    rows = []
    for parameter, value, spread in zip(PARAMETERS, baseline.values, baseline.spreads, strict=True):
        low, high = with_error(value, spread).ends
        if parameter.name == "static_superheat":
            shown, interval = (
                f"{value:+.1f} K",
                tr("{low} to {high}", low=f"{low:+.1f}", high=f"{high:+.1f} K"),
            )
        else:
            shown, interval = (
                f"{exp(value):.2f}",
                tr("{low} to {high}", low=f"{exp(low):.2f}", high=f"{exp(high):.2f}"),
            )
        rows.append((parameter.meaning, shown, interval, f"{100 * (1 - spread / parameter.spread):.0f} %"))
    return rows


def rating_figures(case: Case, baseline: Baseline, system: System) -> list[Figure]:
    """What the clean unit does at the rating conditions (AHRI 210/240, A test), with 90 % ranges."""
    weather = weather_of(case, None)
    return prediction_figures(predicted(baseline, weather.conditions), system, weather.ambient_pressure)


def fitted_json(case: Case, baseline: Baseline, system: System) -> dict[str, Any]:
    """The fit for `--json`."""
    return {
        "unit": case.unit.name,
        "units": system,
        "clean_visits": list(baseline.visits),
        "readings": baseline.readings,
        "misfit": round(baseline.misfit, 6),
        "settled": baseline.settled,
        "parameters": {
            parameter.name: {
                "meaning": parameter.meaning,
                "value": round(float(value), 9),
                "standard_error": round(float(spread), 9),
                "before": parameter.spread,
            }
            for parameter, value, spread in zip(PARAMETERS, baseline.values, baseline.spreads, strict=True)
        },
        "residuals": [
            {
                "visit": visit,
                "reading": measured.key,
                "measured": to_json([measured])[measured.key],
                "fitted": to_json([fitted])[fitted.key],
                "standard_errors": round(score, 6),
            }
            for visit, _, measured, fitted, score in residual_rows(baseline, system)
        ],
        "nameplate": {
            figure.name: {
                "visits_alone_over_rated": round(1.0 - figure.shortfall, 6),
                "lies_under": figure.lies_under,
            }
            for figure in baseline.nameplate
        },
        "at_rating_conditions": to_json(rating_figures(case, baseline, system)),
    }


def fit_sentence(baseline: Baseline) -> str:
    """One sentence on what the fit rests on."""
    if not baseline.visits:
        return tr(
            "No clean visit: the clean baseline rests on the nameplate alone, so the 90 % ranges are wide."
        )
    visits = ", ".join(baseline.visits)
    fitted = tr_many(
        "Fitted to {number} clean visit ({visits}) with {readings} readings.",
        "Fitted to {number} clean visits ({visits}) with {readings} readings.",
        len(baseline.visits),
        visits=visits,
        readings=baseline.readings,
    )
    residual = tr(
        "The root mean square residual is {errors} standard errors; about 1 is expected from measurement "
        "error alone.",
        errors=f"{(baseline.misfit / max(baseline.readings, 1)) ** 0.5:.1f}",
    )
    return f"{fitted} {residual}{_under_nameplate(baseline)}"


def _under_nameplate(baseline: Baseline) -> str:
    """A question where the clean visits lie clearly under the nameplate; empty where they do not."""
    words = {"rated_capacity": tr("capacity"), "rated_eer": "EER"}
    under = [
        tr(
            "{figure} {shortfall} % below the nameplate",
            figure=words[figure.name],
            shortfall=f"{100.0 * figure.shortfall:.0f}",
        )
        for figure in baseline.nameplate
        if figure.lies_under
    ]
    return (
        tr(" Without the nameplate they give {figures}: was the unit clean?", figures=tr(" and ").join(under))
        if under
        else ""
    )
