"""Arrays inside nested dataclasses and named tuples: common shape, flat copies, chosen points.

A unit is a dataclass of dataclasses whose numbers may be arrays, one value a point. The solver works on flat
points and on subsets of them; here is what walks through the nest, so that nobody else has to.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import is_dataclass
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Part = TypeVar("Part")

PLAIN = (float, int, str)
"""Kinds of values that hold no array."""


def common_shape(*parts: Any) -> tuple[int, ...]:
    """Shape to which all arrays in some nests broadcast together.

    Parameters
    ----------
    *parts : nests of dataclasses and tuples that hold arrays
        Any number of them.

    Returns
    -------
    tuple of int
        The shape; () where there are plain numbers only.

    Raises
    ------
    ValueError
        Where shapes do not fit together.
    """
    return np.broadcast_shapes(*(leaf.shape for part in parts for leaf in _arrays(part)))


def _arrays(part: Any) -> list[Array]:
    if part is None or isinstance(part, PLAIN):
        return []
    if isinstance(part, np.ndarray):
        return [part]
    if isinstance(part, list) or hasattr(part, "__array__"):
        return [np.asarray(part)]
    if is_dataclass(part):
        return [leaf for _, value in _items(part) for leaf in _arrays(value)]
    if isinstance(part, tuple):
        return [leaf for item in part for leaf in _arrays(item)]
    return []


def flattened(part: Part, shape: tuple[int, ...]) -> Part:
    """The same nest with every array that has an axis stretched to `shape` and made flat.

    Plain numbers become arrays without an axis, which NumPy combines faster.

    Parameters
    ----------
    part : Part
        Nest of dataclasses and tuples that hold arrays.
    shape : tuple of int
        To which every array broadcasts.

    Returns
    -------
    Part
        Of the same kind.
    """

    def flat(value: Array) -> Array:
        return np.ascontiguousarray(np.broadcast_to(value, shape)).reshape(-1) if value.ndim else value

    return _mapped(part, flat, float)


def chosen(part: Part, points: NDArray[np.intp] | slice) -> Part:
    """The same nest with some of the points of every flat array in it.

    Parameters
    ----------
    part : Part
        Nest whose arrays are flat or plain numbers.
    points : ndarray of int or slice
        Which points of every flat array.

    Returns
    -------
    Part
        Of the same kind.
    """
    return _mapped(part, lambda value: value[points] if value.ndim else value)


def first_row(part: Part) -> Part:
    """The same nest with the first of two or more axes of every array at its first place.

    Parameters
    ----------
    part : Part
        Nest of dataclasses and tuples that hold arrays.

    Returns
    -------
    Part
        Of the same kind.
    """
    return _mapped(part, lambda value: value[0] if value.ndim > 1 else value)


def _mapped(part: Part, function: Callable[[Array], Array], numbers: type | None = None) -> Part:
    """The same nest with `function` applied to every array; parts without a change stay the same objects.

    `numbers` is a type whose values become arrays too. A dataclass is not checked again: its values are the
    same.
    """
    if part is None or isinstance(part, PLAIN):
        return cast(Part, np.array(part)) if numbers is not None and type(part) is numbers else part
    if isinstance(part, np.ndarray):
        return cast(Part, function(part))
    if isinstance(part, list) or hasattr(part, "__array__"):
        return cast(Part, function(np.asarray(part)))
    if is_dataclass(part):
        return _with_items(part, {name: _mapped(old, function, numbers) for name, old in _items(part)})
    if isinstance(part, tuple) and hasattr(part, "_fields"):
        return cast(Part, type(part)(*[_mapped(item, function, numbers) for item in part]))
    return part


def _items(part: Any) -> Iterable[tuple[str, Any]]:
    """Names and values of a dataclass's fields, with or without slots."""
    if hasattr(part, "__dict__"):
        return cast(Iterable[tuple[str, Any]], vars(part).items())
    return [(name, getattr(part, name)) for name in part.__slots__]


def _with_items(part: Part, items: dict[str, Any]) -> Part:
    if all(value is old for value, (_, old) in zip(items.values(), _items(part), strict=True)):
        return part
    copy = object.__new__(type(part))
    for name, value in items.items():
        object.__setattr__(copy, name, value)
    return copy
