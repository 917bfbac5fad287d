"""Quasi-random numbers for builds, and how much of what comes out is due to which of them.

The only place that knows the statistics library.
"""

from typing import NamedTuple

import numpy as np

from seamsight.scene.frames import Array

SEED = 12  # of all draws: the same rig gives the same answer every time
RESAMPLES = 200  # of the bootstrap
CONFIDENCE = 0.95


class Share(NamedTuple):
    """The share of a quantity's variance that goes away if some values are exact.

    Attributes
    ----------
    total : float
        Total index of Sobol', 0..1; shares of several may add up to more than 1.
    low, high : float
        Its confidence interval, 95 %, by bootstrap.
    """

    total: float
    low: float
    high: float


def draws(columns: int, first: int, count: int) -> Array:
    """Return some rows of a scrambled Sobol' sequence, (count, columns) in -1..1.

    A sequence that is taken in pieces is the same as in one. It is evenly spread if it has a power
    of two of rows.
    """
    from scipy.stats import qmc

    if not columns:
        return np.zeros((count, 0))
    sequence = qmc.Sobol(columns, rng=np.random.default_rng(SEED))
    if first:  # none is refused
        sequence.fast_forward(first)
    return np.asarray(2 * sequence.random(count) - 1)


def shares(own: Array, other: Array, swapped: Array) -> list[Share]:
    """Return which share of a quantity's variance is due to each of some groups of values.

    Parameters
    ----------
    own, other : (n,) float64
        The quantity for two independent samples of n builds, a power of two.
    swapped : (g, n) float64
        The same for the first sample, with the values of each group from the other.
    """
    found = [Share(0.0, 0.0, 0.0)] * len(swapped)
    telling = np.flatnonzero((swapped != own).any(axis=1))
    if not len(telling):
        return found
    rng = np.random.default_rng(SEED)
    totals = _totals(own, other, swapped[telling])
    drawn = rng.integers(len(own), size=(RESAMPLES, len(own)))
    again = [_totals(own[rows], other[rows], swapped[telling][:, rows]) for rows in drawn]
    lows, highs = np.quantile(again, ((1 - CONFIDENCE) / 2, (1 + CONFIDENCE) / 2), axis=0)
    for number, group in enumerate(telling):
        found[group] = Share(float(totals[number]), float(lows[number]), float(highs[number]))
    return found


def _totals(own: Array, other: Array, swapped: Array) -> Array:
    from scipy.stats import sobol_indices

    # it refuses one group alone, and draws its own bootstrap anew each time
    rows = np.resize(np.arange(len(swapped)), max(2, len(swapped)))
    outputs = {"f_A": own[None], "f_B": other[None], "f_AB": swapped[rows, None]}
    totals = sobol_indices(func=outputs, n=len(own)).total_order
    return np.asarray(np.clip(totals, 0.0, 1.0))[: len(swapped)]
