"""Names of the arrays that functions take and return; shapes stand in their docstrings."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
"""Real numbers."""
Number = float | Array
"""One number or many."""
BoolArray = NDArray[np.bool_]
"""Yes or no."""
IntArray = NDArray[np.int64]
"""Whole numbers."""
IndexArray = NDArray[np.intp]
"""Places in another array."""
