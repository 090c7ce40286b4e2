"""The colours can be read: contrast after WCAG 2.1, colour vision after Machado, Oliveira, Fernandes 2009."""

from itertools import combinations

import numpy as np
import pytest

from dashboard.charts import style

# Machado, Oliveira, Fernandes, IEEE TVCG 15(6), 2009, level 1.0 (matrices from memory; rows add to one).
COLOUR_VISION = {
    "full": np.eye(3),
    "protan": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deutan": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritan": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
# IEC 61966-2-1, sRGB to CIE XYZ with white D65.
SRGB_TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
WHITE = SRGB_TO_XYZ.sum(axis=1)


def linear_rgb(colour: str) -> np.ndarray:
    share = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def lab(rgb: np.ndarray) -> np.ndarray:
    ratio = SRGB_TO_XYZ @ np.clip(rgb, 0.0, 1.0) / WHITE
    f = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def contrast(one: str, other: str) -> float:
    dark, light = sorted(float(SRGB_TO_XYZ[1] @ linear_rgb(c)) for c in (one, other))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_black_on_white_is_twenty_one():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0, abs=0.01)


@pytest.mark.parametrize("colour", [style.INK, style.SOFT_INK, style.GOOD, style.WARN, style.BAD, style.TEAL])
@pytest.mark.parametrize("behind", [style.PAPER, style.PANEL])
def test_text_keeps_the_contrast_of_wcag_1_4_3(colour, behind):
    assert contrast(colour, behind) >= 4.5


@pytest.mark.parametrize("role", style.ROLES, ids=lambda role: role.label)
def test_lines_keep_the_contrast_of_wcag_1_4_11(role):
    assert contrast(role.colour, style.PAPER) >= 3.0


@pytest.mark.parametrize("one, other", list(combinations(style.ROLES, 2)))
def test_roles_differ_for_every_kind_of_colour_vision_and_in_grey(one, other):
    for matrix in COLOUR_VISION.values():
        difference = lab(matrix @ linear_rgb(one.colour)) - lab(matrix @ linear_rgb(other.colour))
        assert np.hypot.reduce(difference) >= 25.0
    assert abs(lab(linear_rgb(one.colour))[0] - lab(linear_rgb(other.colour))[0]) >= 9.0
    assert one.marker != other.marker
    assert (one.dash, one.width) != (other.dash, other.width)


def test_heat_map_colours_darken_all_the_way():
    lightness = [lab(linear_rgb(colour))[0] for colour in style.SEQUENCE]
    assert np.all(np.diff(lightness) < -5.0)


def test_dashes_scale_with_the_line_width():
    assert style.plotly_dash((), 2.0) == "solid"
    assert style.plotly_dash((5.0, 2.0), 2.0) == "10px,4px"
