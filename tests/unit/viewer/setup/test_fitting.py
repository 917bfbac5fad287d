"""The least greatest error, against what Chebyshev and another minimiser found."""

import numpy as np
import pytest
from scipy.optimize import minimize

from seamsight.viewer.setup.fitting import least_greatest


def test_the_best_line_under_a_parabola_is_chebyshev_s():
    # x² on -1 … 1 is at most 1/2 off its best constant, 1/2 (Chebyshev's polynomial T2)
    x = np.linspace(-1, 1, 401)

    def off(numbers):
        flat = np.zeros((401, 3))
        flat[:, 1] = x**2 - numbers[0] - numbers[1] * x
        return flat

    found = least_greatest(off, np.array([0.2, 0.3]))
    np.testing.assert_allclose(found, [0.5, 0.0], atol=1e-6)
    assert np.abs(off(found)).max() == pytest.approx(0.5, abs=1e-6)


def test_errors_that_can_vanish_do():
    wanted = np.array([0.3, -0.2])

    def off(numbers):
        return np.stack([np.sin(numbers - wanted), numbers - wanted, 0 * numbers], axis=1)

    np.testing.assert_allclose(least_greatest(off, np.zeros(2)), wanted, atol=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_curved_errors_against_nelder_and_mead(seed):
    random = np.random.default_rng(seed)
    factors, shifts = random.normal(size=(2, 40, 3, 2))

    def off(numbers):
        return 0.2 * np.sin(0.4 * factors * numbers + shifts).sum(axis=2)

    def greatest(numbers):
        return np.linalg.norm(off(numbers), axis=1).max()

    found = least_greatest(off, np.zeros(2))
    exact = {"xatol": 1e-10, "fatol": 1e-12, "maxiter": 4000}
    other = minimize(greatest, found, method="Nelder-Mead", options=exact)
    assert greatest(found) == pytest.approx(other.fun, abs=1e-5)


def test_steps_are_never_far():
    # from farther than 1.392 away, unbounded steps run off to either side of an arctangent
    def off(numbers):
        return np.stack([np.arctan(numbers - 1.6), 0 * numbers, 0 * numbers], axis=1)

    np.testing.assert_allclose(least_greatest(off, np.zeros(1)), [1.6], atol=2e-3)
