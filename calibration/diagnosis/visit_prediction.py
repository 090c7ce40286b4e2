"""The fitted unit in the weather of one visit, with everything that is not known of the day.

`calibration.clean_fit.prediction` takes weather and airflow as given. Beside the readings of a visit they are
readings themselves: the intervals here hold the errors of thermometers and wet bulb, how far the unit and its
airflow may have moved since the clean visits, and what the fit leaves open.
"""

from __future__ import annotations

import numpy as np

from calibration.clean_fit.prediction import Prediction, prediction_of
from calibration.diagnosis.visit_model import Scene, at_latent, latent_steps
from model.cycle.faults import HEALTHY, Faults


def predicted_at_visit(place: Scene, faults: Faults = HEALTHY) -> Prediction:
    """Operating point of the fitted unit in the visit's weather, with standard errors.

    Parameters
    ----------
    place : Scene
        The visit and everything uncertain about it; its readings are not looked at.
    faults : Faults
        Plain numbers.

    Returns
    -------
    Prediction
        Of one point.
    """
    steps, count = latent_steps(place), len(place.prior_mean)
    columns = np.repeat(place.prior_mean[:, None], count + 1, axis=1)
    columns[np.arange(count), 1 + np.arange(count)] += steps
    return prediction_of(at_latent(place, columns, faults), steps, place.prior_covariance)
