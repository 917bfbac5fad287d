"""Quasi-random draws, and shares of a quantity's variance."""

import numpy as np
import pytest

from seamsight.viewer.studies.tolerance_draws import draws, shares

COUNT = 2048


def _swapped(of, own, other):
    """Return a function of three values for two samples, and with each value exchanged."""
    each = [np.where(np.arange(3) == column, other, own) for column in range(3)]
    return of(own), of(other), np.array([of(sample) for sample in each])


def test_draws_are_the_same_every_time_and_in_pieces():
    whole = draws(5, 0, 256)
    pieces = [draws(5, first, 64) for first in range(0, 256, 64)]
    assert np.array_equal(whole, draws(5, 0, 256))
    assert np.array_equal(whole, np.concatenate(pieces))


def test_draws_fill_every_column_evenly():
    drawn = np.sort(draws(40, 0, 1024), axis=0)
    # one in each of 1024 equal steps, which is what makes the sequence worth its name
    steps = np.linspace(-1, 1, 1025)[:, None]
    assert ((steps[:-1] <= drawn) & (drawn <= steps[1:])).all()


def test_nothing_to_draw():
    assert draws(0, 0, 8).shape == (8, 0)


def test_shares_of_a_sum_are_those_of_its_variances():
    # independent parts: variances add (JCGM 100:2008, 5.1.2), and first and total index are equal
    drawn = draws(6, 0, COUNT)
    weights = np.array([1.0, 2.0, 3.0])
    found = shares(*_swapped(lambda each: each @ weights, drawn[:, :3], drawn[:, 3:]))
    expected = weights**2 / (weights**2).sum()
    assert [one.total for one in found] == pytest.approx(expected.tolist(), abs=0.005)
    assert all(one.low <= one.total <= one.high for one in found)


def test_shares_of_a_function_with_published_ones():
    # Ishigami's function, a = 7, b = 0.1: totals 0.5576, 0.4424, 0.2437 (closed form, Ishigami and
    # Homma 1990; from memory, recomputed)
    drawn = np.pi * draws(6, 0, COUNT)

    def ishigami(each):
        x, y, z = each.T
        return np.sin(x) + 7 * np.sin(y) ** 2 + 0.1 * z**4 * np.sin(x)

    found = shares(*_swapped(ishigami, drawn[:, :3], drawn[:, 3:]))
    assert [one.total for one in found] == pytest.approx([0.5576, 0.4424, 0.2437], abs=0.01)


def test_what_changes_nothing_has_no_share():
    drawn = draws(6, 0, COUNT)
    found = shares(*_swapped(lambda each: each[:, 0], drawn[:, :3], drawn[:, 3:]))
    assert [one.total for one in found] == pytest.approx([1, 0, 0], abs=0.01)
    assert found[1] == found[2] == (0.0, 0.0, 0.0)
    same = np.ones(64)
    assert shares(same, same, np.ones((2, 64))) == [(0.0, 0.0, 0.0)] * 2
