"""Nests of dataclasses and tuples that hold arrays: common shape, flat copies, chosen points."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pytest

from model.cycle.batch_arrays import chosen, common_shape, first_row, flattened, joined


class Pair(NamedTuple):
    low: object
    high: object


@dataclass(frozen=True)
class Part:
    name: str
    size: object
    pair: Pair


@dataclass(frozen=True)
class Whole:
    part: Part
    level: object


NEST = Whole(Part("coil", np.array([[1.0], [2.0]]), Pair(np.arange(3.0), 5.0)), 0.5)


def test_shape_to_which_everything_broadcasts():
    assert common_shape(NEST) == (2, 3)
    assert common_shape(0.5, "name", None) == ()
    assert common_shape(NEST, np.zeros((4, 1, 1))) == (4, 2, 3)
    with pytest.raises(ValueError, match="broadcast"):
        common_shape(NEST, np.zeros(5))


def test_flat_copies_hold_the_broadcast_values_in_order():
    flat = flattened(NEST, (2, 3))
    assert type(flat) is Whole
    assert flat.part.name == "coil"
    assert flat.part.size.tolist() == [1.0, 1.0, 1.0, 2.0, 2.0, 2.0]
    assert flat.part.pair.low.tolist() == [0.0, 1.0, 2.0, 0.0, 1.0, 2.0]
    assert flat.level.shape == flat.part.pair.high.shape == ()


def test_nests_are_joined_behind_one_another():
    def nest(size, low):
        return Whole(Part("coil", size, Pair(np.array(low), 5.0)), np.float64(0.5))

    parts = [nest(1.0, [1.0, 4.0]), nest(2.0, [1.0, 3.0])]
    both = joined(parts, [1, 2])
    assert both.part.name == "coil"
    assert both.part.size.tolist() == [1.0, 2.0, 2.0]
    assert both.part.pair.low.tolist() == [[1.0, 1.0, 1.0], [4.0, 3.0, 3.0]]
    assert both.part.pair.high == 5.0
    assert both.level == 0.5
    assert joined(parts[:1], [3]) is parts[0]
    assert joined([np.float64(1.0), np.float64(2.0)], [1, 1]).tolist() == [1.0, 2.0]


def test_chosen_points_are_those_of_every_array():
    flat = flattened(NEST, (2, 3))
    some = chosen(flat, np.array([4, 0]))
    assert some.part.size.tolist() == [2.0, 1.0]
    assert some.part.pair.low.tolist() == [1.0, 0.0]
    assert float(some.level) == 0.5
    assert chosen(flat, slice(2, 4)).part.pair.low.tolist() == [2.0, 0.0]


def test_the_first_row_leaves_flat_arrays_alone():
    rows = Whole(Part("coil", np.arange(6.0).reshape(2, 3), Pair(np.arange(3.0), 1.0)), 0.5)
    first = first_row(rows)
    assert first.part.size.tolist() == [0.0, 1.0, 2.0]
    assert first.part.pair.low.tolist() == [0.0, 1.0, 2.0]


def test_a_nest_without_arrays_stays_the_same_object():
    plain = Part("coil", 1.0, Pair(2.0, 3.0))
    assert chosen(plain, np.array([0])).pair == plain.pair
    assert chosen(plain, np.array([0])).size == 1.0
