"""Damped Newton steps on systems whose roots are known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.cycle import batch_newton

PROPERTY = settings(derandomize=True, deadline=None, max_examples=60)


def box(count, lowest=-50.0, highest=50.0, step=5.0, walls=None):
    """Bounds the same for all unknowns; walls far away where none are given."""
    column = np.ones((3, 1))
    return batch_newton.Box(
        lowest * column,
        highest * column,
        step * column,
        np.full((3, count), 1e6) if walls is None else walls,
    )


def shifted(targets):
    """A smooth system with its only roots at `targets` (3, n): each equation also feels the next unknown."""

    def system(x, index):
        wanted = targets if index is None else targets[:, index]
        away = x - (wanted[:, None] if x.ndim == 3 else wanted)
        return np.sinh(away) + 0.3 * np.tanh(np.roll(away, 1, axis=0))

    return system


@pytest.mark.parametrize(
    "count",
    [
        1,
        batch_newton.HANDFUL,
        batch_newton.HANDFUL + 1,
        batch_newton.FEW_POINTS,
        batch_newton.FEW_POINTS + 1,
        700,
    ],
)
def test_roots_are_found_for_few_points_and_for_many(count):
    """All ways of working: parabolas, a Jacobian every step, and Broyden's updates between them."""
    targets = np.random.default_rng(3).uniform(-4.0, 4.0, (3, count))
    found = batch_newton.solve(shifted(targets), np.zeros((3, count)), box(count), 1e-10)
    assert found.converged.all()
    assert found.residual.max() < 1e-10
    np.testing.assert_allclose(found.unknowns, targets, atol=1e-9)


def test_slopes_and_bends_of_a_parabola_are_exact():
    bends = np.random.default_rng(5).normal(size=(3, 3, 3))
    bends += np.swapaxes(bends, 1, 2)

    def system(x, index):
        return 2.0 + 3.0 * x + 0.5 * np.einsum("ijk,j...,k...->i...", bends, x, x)

    x = np.array([[0.4, -1.0], [-0.7, 0.2], [1.1, 0.3]])
    f, slopes, bend = batch_newton._expanded(system, x, None, np.full((3, 2), 1e6))
    np.testing.assert_allclose(f, system(x, None), rtol=1e-14)
    exact = 3.0 * np.eye(3)[..., None] + np.einsum("ijk,kn->ijn", bends, x)
    np.testing.assert_allclose(slopes, exact, atol=1e-10)
    np.testing.assert_allclose(bend, np.repeat(bends[..., None], 2, axis=3), atol=1e-6)


def test_a_handful_needs_fewer_calls_than_more_points():
    """Parabolas follow a bent system further than straight lines."""

    def calls(count):
        seen = []

        def system(x, index):
            seen.append(x)
            return np.expm1(x - 0.5) + 0.3 * np.roll(x - 0.5, 1, axis=0) ** 2

        found = batch_newton.solve(system, np.full((3, count), 0.1), box(count), 1e-9)
        np.testing.assert_allclose(found.unknowns, 0.5, atol=1e-9)
        return len(seen)

    assert calls(batch_newton.HANDFUL) < calls(batch_newton.HANDFUL + 1)


def test_points_that_are_solved_from_the_start_leave_at_once():
    targets = np.zeros((3, 200))
    targets[:, :70] = 1.5
    found = batch_newton.solve(shifted(targets), np.zeros((3, 200)), box(200), 1e-9)
    assert found.converged.all()
    np.testing.assert_allclose(found.unknowns, targets, atol=1e-8)
    assert np.all(found.unknowns[:, 70:] == 0.0)


def test_linear_systems_need_one_step():
    """The textbook limit of Newton's method; forward differences are exact but for rounding."""
    calls = []
    matrix = np.array([[4.0, 1.0, 0.0], [1.0, 3.0, -1.0], [0.5, 0.0, 2.0]])

    def system(x, index):
        calls.append(x.shape)
        return np.tensordot(matrix, x, axes=1) - np.array([1.0, 2.0, 3.0]).reshape(3, *[1] * (x.ndim - 1))

    found = batch_newton.solve(system, np.zeros((3, 1)), box(1), 1e-9)
    np.testing.assert_allclose(found.unknowns[:, 0], np.linalg.solve(matrix, [1.0, 2.0, 3.0]), rtol=1e-9)
    assert len(calls) <= 3


def test_scale_of_an_equation_does_not_matter():
    """Steps are judged by the correction that follows them, which is free of it."""
    targets = np.random.default_rng(5).uniform(-3.0, 3.0, (3, 60))
    plain, scales = shifted(targets), np.array([1.0, 1e4, 1e-3])

    def scaled(x, index):
        return plain(x, index) * scales.reshape(3, *[1] * (x.ndim - 1))

    found = batch_newton.solve(scaled, np.zeros((3, 60)), box(60), 1e-7)
    assert found.converged.all()
    np.testing.assert_allclose(found.unknowns, targets, atol=1e-3)


@PROPERTY
@given(st.integers(0, 10_000), st.integers(1, 80))
def test_each_point_is_solved_as_if_alone_within_the_tolerance(seed, count):
    random = np.random.default_rng(seed)
    targets = random.uniform(-4.0, 4.0, (3, count))
    start = random.uniform(-4.0, 4.0, (3, count))
    found = batch_newton.solve(shifted(targets), start, box(count), 1e-9)
    alone = batch_newton.solve(shifted(targets[:, :1]), start[:, :1], box(1), 1e-9)
    assert found.converged.all()
    np.testing.assert_allclose(found.unknowns[:, :1], alone.unknowns, atol=1e-7)


def test_a_start_outside_the_box_is_moved_in_and_no_trial_leaves_it():
    seen = []
    plain = shifted(np.full((3, 2), 1.5))

    def system(x, index):
        seen.append(x.copy())
        return plain(x, index)

    found = batch_newton.solve(system, np.full((3, 2), 9.0), box(2, -2.0, 2.0, 0.5), 1e-9)
    assert found.converged.all()
    # neighbours for the derivatives aside
    assert max(float(x.max()) for x in seen) <= 2.0 + 2 * batch_newton.BENT_STEP


def test_no_step_is_longer_than_the_longest():
    seen = []
    plain = shifted(np.full((3, 1), 3.0))

    def system(x, index):
        seen.append(x[:, 0] if x.ndim == 3 else x)
        return plain(x, index)

    batch_newton.solve(system, np.zeros((3, 1)), box(1, step=0.25), 1e-9)
    moves = np.abs(np.diff(np.stack(seen), axis=0))
    assert moves.max() <= 0.25 + 1e-12


def test_root_behind_a_wall_is_found_with_the_slopes_there():
    """A slope that jumps a hundredfold: a step with the first one would go far past the root."""
    walls = np.full((3, 1), 1e6)
    walls[0] = 1.0

    def system(x, index):
        f = x - 1.3
        f[0] = np.where(x[0] < 1.0, 0.01 * (x[0] - 1.0), x[0] - 1.0) - 0.3
        return f

    found = batch_newton.solve(system, np.zeros((3, 1)), box(1, walls=walls), 1e-9)
    assert found.converged.all()
    np.testing.assert_allclose(found.unknowns, 1.3, atol=1e-8)


def test_a_system_without_a_root_is_returned_as_not_converged_inside_the_box():
    def system(x, index):
        return x * x + 1.0

    found = batch_newton.solve(system, np.full((3, 3), 0.7), box(3, -4.0, 4.0), 1e-9)
    assert not found.converged.any()
    assert np.all(found.residual >= 1.0)
    assert np.all(np.abs(found.unknowns) <= 4.0)


def test_points_that_fail_do_not_disturb_the_others():
    count = 200
    targets = np.random.default_rng(8).uniform(-3.0, 3.0, (3, count))
    plain, hopeless = shifted(targets), np.arange(count) % 7 == 0

    def system(x, index):
        f = plain(x, index)
        lost = hopeless if index is None else hopeless[index]
        return np.where(lost, np.abs(f) + 1.0, f)

    found = batch_newton.solve(system, np.zeros((3, count)), box(count), 1e-9)
    np.testing.assert_array_equal(found.converged, ~hopeless)
    np.testing.assert_allclose(found.unknowns[:, ~hopeless], targets[:, ~hopeless], atol=1e-8)


def test_residuals_that_are_no_numbers_never_count_as_solved():
    with np.errstate(invalid="ignore"):
        found = batch_newton.solve(lambda x, _: np.sqrt(x - 1e9), np.zeros((3, 2)), box(2), 1e-9)
    assert not found.converged.any()
    assert np.all(np.isinf(found.residual))


def test_no_points_are_no_trouble():
    found = batch_newton.solve(lambda x, _: x, np.zeros((3, 0)), box(0), 1e-9)
    assert found.unknowns.shape == (3, 0)


def test_few_steps_leave_points_where_they_stand():
    far = batch_newton.solve(
        shifted(np.full((3, 1), 4.0)), np.zeros((3, 1)), box(1, step=0.1), 1e-9, most_steps=3
    )
    assert not far.converged.any()
    np.testing.assert_allclose(np.abs(far.unknowns).max(), 0.3, atol=1e-9)
