"""Arrays inside nested dataclasses and named tuples: common shape, flat copies, chosen points.

A unit is a dataclass of dataclasses whose numbers may be arrays, one value a point. The solver works on flat
points and on subsets of them; here is what walks through the nest, so that nobody else has to.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Part = TypeVar("Part")


def common_shape(*parts: Any) -> tuple[int, ...]:
    """Shape to which all arrays in some nests broadcast together.

    Raises
    ------
    ValueError
        Where shapes do not fit together.
    """
    return np.broadcast_shapes(*(leaf.shape for part in parts for leaf in _arrays(part)))


def _arrays(part: Any) -> list[Array]:
    if isinstance(part, np.ndarray):
        return [part]
    if isinstance(part, list) or hasattr(part, "__array__"):
        return [np.asarray(part)]
    if is_dataclass(part):
        return [leaf for field in fields(part) for leaf in _arrays(getattr(part, field.name))]
    if isinstance(part, tuple):
        return [leaf for item in part for leaf in _arrays(item)]
    return []


def flattened(part: Part, shape: tuple[int, ...]) -> Part:
    """The same nest with every array that has an axis stretched to `shape` and made flat."""

    def flat(value: Array) -> Array:
        return np.ascontiguousarray(np.broadcast_to(value, shape)).reshape(-1) if value.ndim else value

    return _mapped(part, flat)


def chosen(part: Part, points: NDArray[np.intp] | slice) -> Part:
    """The same nest with some of the points of every flat array in it."""
    return _mapped(part, lambda value: value[points] if value.ndim else value)


def _mapped(part: Part, function: Callable[[Array], Array]) -> Part:
    """The same nest with `function` applied to every array; parts without a change stay the same objects."""
    if isinstance(part, np.ndarray):
        return cast(Part, function(part))
    if isinstance(part, list) or hasattr(part, "__array__"):
        return cast(Part, function(np.asarray(part)))
    if is_dataclass(part):
        changes = {}
        for field in fields(part):
            old = getattr(part, field.name)
            new = _mapped(old, function)
            if new is not old:
                changes[field.name] = new
        return cast(Part, replace(cast(Any, part), **changes)) if changes else part
    if isinstance(part, tuple) and hasattr(part, "_fields"):
        items = [_mapped(item, function) for item in part]
        return (
            part if all(a is b for a, b in zip(items, part, strict=True)) else cast(Part, type(part)(*items))
        )
    return part
