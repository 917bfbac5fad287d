"""Numbers that make the greatest of many errors as small as it can be."""

from collections.abc import Callable

import numpy as np

from seamsight.scene.frames import Array

Errors = Callable[[Array], Array]
"""From numbers (p,) to errors (n, 3), all of the order of 1 or less."""

SQUARES = 6  # least-squares steps to begin with
SHARPNESS = 3.0 ** np.arange(2, 14)  # of the smooth greatest; it is within log n / sharpness
NEWTON = 12  # steps for each sharpness
HALVINGS = 12  # of a step that leads too far
FARTHEST = 0.3  # that numbers go in one step: errors bend
CHANGE = 1e-6  # of a number, for slopes by differences
CLOSE = 1e-12  # errors so small are none, and so are gains


def least_greatest(errors: Errors, start: Array) -> Array:
    """Return numbers (p,) near a start (p,) that make the greatest length of errors least.

    Notes
    -----
    Newton's method on log(sum(exp(k length))) / k, which comes ever nearer to the greatest length
    as k grows (Boyd and Vandenberghe, Convex Optimization, section 3.1.5), after some steps of
    least squares.
    """
    at = _squares(errors, start)
    for sharpness in SHARPNESS:
        greatest = float(_lengths(errors(at)).max())
        if not greatest > CLOSE:
            return at
        at = _smooth(errors, at, sharpness / greatest)
    return at


def _squares(errors: Errors, at: Array) -> Array:
    """Return numbers some Gauss-Newton steps nearer to the least squares of errors."""
    for _ in range(SQUARES):
        slopes = _slopes(errors, at).reshape(-1, len(at))
        step = np.asarray(np.linalg.lstsq(slopes, errors(at).ravel(), rcond=None)[0], np.float64)
        at = at - _bounded(step)
    return at


def _smooth(errors: Errors, at: Array, sharpness: float) -> Array:
    """Return numbers that make the smooth greatest of errors least."""
    value = _smooth_greatest(errors(at), sharpness)
    for _ in range(NEWTON):
        step = _newton_step(errors, at, sharpness)
        for halving in range(HALVINGS):
            tried = at - step * 0.5**halving
            lower = _smooth_greatest(errors(tried), sharpness)
            if lower < value:
                break
        else:
            return at
        gain = value - lower
        at = tried
        value = lower
        if gain < CLOSE:
            return at
    return at


def _smooth_greatest(off: Array, sharpness: float) -> float:
    lengths = _lengths(off)
    greatest = lengths.max()
    return float(greatest + np.log(np.exp(sharpness * (lengths - greatest)).sum()) / sharpness)


def _newton_step(errors: Errors, at: Array, sharpness: float) -> Array:
    """Return by how much numbers (p,) are too large, curves of single errors left out."""
    off = errors(at)
    slopes = _slopes(errors, at)
    lengths = np.maximum(_lengths(off), CLOSE)
    weights = np.exp(sharpness * (lengths - lengths.max()))
    weights /= weights.sum()

    # slopes and curvature of the lengths, and of their smooth greatest
    each = np.einsum("ni,nip->np", off, slopes) / lengths[:, None]
    slope = weights @ each
    bend = np.einsum("n,nip,niq->pq", weights / lengths, slopes, slopes)
    bend -= (each * (weights / lengths)[:, None]).T @ each
    spread = each - slope
    curvature = bend + sharpness * (spread * weights[:, None]).T @ spread
    return _bounded(np.asarray(np.linalg.lstsq(curvature, slope, rcond=1e-12)[0], np.float64))


def _bounded(step: Array) -> Array:
    return np.asarray(step * min(1.0, FARTHEST / max(float(np.linalg.norm(step)), CLOSE)))


def _slopes(errors: Errors, at: Array) -> Array:
    """Return the slopes (n, 3, p) of errors."""
    changes = CHANGE * np.eye(len(at))
    return np.stack(
        [(errors(at + change) - errors(at - change)) / (2 * CHANGE) for change in changes], axis=-1
    )


def _lengths(off: Array) -> Array:
    return np.asarray(np.linalg.norm(off, axis=1))
