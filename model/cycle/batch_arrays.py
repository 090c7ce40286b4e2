"""Arrays inside nested dataclasses and named tuples: common shape, flat copies, chosen points.

A unit is a dataclass of dataclasses whose numbers may be arrays, one value a point. The solver works on flat
points and on subsets of them; here is what walks through the nest, so that nobody else has to.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import is_dataclass
from typing import Any, TypeVar, cast

import numpy as np

from model.arrays import Array, IndexArray

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
    kind = _kind(part)
    if kind == "plain":
        return []
    if kind == "array":
        return [np.asarray(part)]
    values = _items(part).values() if kind == "dataclass" else part
    return [leaf for value in values for leaf in _arrays(value)]


KINDS: dict[type, str] = {}
"""What parts of the types met so far are."""


def _kind(part: object) -> str:
    """What a part is: "plain", "array", "dataclass", "named tuple" or "tuple"."""
    found = KINDS.get(type(part))
    if found is None:
        found = KINDS[type(part)] = _kind_of(type(part))
    return found


def _kind_of(kind: type) -> str:
    if kind is type(None) or issubclass(kind, PLAIN):
        return "plain"
    if issubclass(kind, list) or hasattr(kind, "__array__"):
        return "array"
    if is_dataclass(kind):
        return "dataclass"
    if issubclass(kind, tuple):
        return "named tuple" if hasattr(kind, "_fields") else "tuple"
    return "plain"


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


def chosen(part: Part, points: IndexArray | slice) -> Part:
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


def joined(parts: Sequence[Part], counts: Sequence[int]) -> Part:
    """Several nests of one kind as one, each with its numbers repeated for so many points.

    Parameters
    ----------
    parts : sequence of nests
        Alike but for their numbers.
    counts : sequence of int
        Points of each, one nest behind the other along the last axis.

    Returns
    -------
    Part
        Of the same kind; a number that all have in common stays as it is.
    """
    first = parts[0]
    if all(part is first for part in parts):
        return first
    kind = _kind(first)
    if kind == "dataclass":
        items = [_items(part) for part in parts]
        joint = {name: joined([each[name] for each in items], counts) for name in items[0]}
        return _with_items(first, items[0], joint)
    if kind == "named tuple":
        return type(first)(*[joined(each, counts) for each in zip(*cast(Any, parts), strict=True)])
    if kind != "array" and not isinstance(first, float):
        return first
    numbers = np.stack(cast(Any, parts), axis=-1)
    if np.array_equal(numbers, numbers[..., :1].repeat(len(parts), axis=-1)):
        return first
    return cast(Part, numbers.repeat(counts, axis=-1))


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
    kind = _kind(part)
    if kind == "plain":
        return cast(Part, np.array(part)) if type(part) is numbers else part
    if kind == "array":
        return cast(Part, function(np.asarray(part)))
    if kind == "dataclass":
        items = _items(part)
        return _with_items(part, items, {n: _mapped(old, function, numbers) for n, old in items.items()})
    if kind == "named tuple":
        return type(part)(*[_mapped(item, function, numbers) for item in cast(Any, part)])
    return part


def _items(part: Any) -> dict[str, Any]:
    """Names and values of a dataclass's fields, with or without slots."""
    if hasattr(part, "__dict__"):
        return cast(dict[str, Any], vars(part))
    return {name: getattr(part, name) for name in part.__slots__}


def _with_items(part: Part, items: dict[str, Any], changed: dict[str, Any]) -> Part:
    if all(changed[name] is old for name, old in items.items()):
        return part
    copy = object.__new__(type(part))
    for name, value in changed.items():
        object.__setattr__(copy, name, value)
    return copy
