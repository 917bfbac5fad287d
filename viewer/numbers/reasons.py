"""Why numbers of a screen are missing at a head position, in words for the builder."""

import dataclasses
from typing import TypeAlias

from seamsight.viewer.numbers.comfort import Comfort

Angles: TypeAlias = dict[str, float | None]
"""Across, "h", and up, "v"."""

FROM_BEFORE = (
    "image_distance",
    "image_dioptres",
    "span",
    "arcmin_per_px",
    "visible",
    "margin",
    "gap_needed",
    "frustum",
    "angular",
    *(each.name for each in dataclasses.fields(Comfort)),
)
"""Numbers of a screen that are None unless all eyes are in front of its lens, or its bezel."""
BEHIND = "an eye is beside or behind its lens or its bezel"
DARK = "no light from {} passes the lens's grooves"
NO_CORNER = "no corner of the image is seen from the point between the eyes"
NOT_BY_BOTH = "both eyes see no common point of the image through the lens"
NOT_FROM_ASIDE = "no point of the image stays in sight when the head moves sideways"


def reasons_from_behind() -> dict[str, str]:
    """Return why numbers are missing, by their names, where an eye is beside or behind a screen."""
    return dict.fromkeys(FROM_BEFORE, BEHIND)


def reasons_from_before(span: Angles, pixel: Angles, asked: Comfort) -> dict[str, str]:
    """Return why numbers are missing, by their names, where all eyes are in front of a screen.

    Found from what could be measured: the angles `span` and `arcmin_per_px`, and `comfort`.
    """
    dark = [
        edges
        for edges, angle in (("left and right", span["h"]), ("bottom and top", span["v"]))
        if angle is None
    ]
    reasons = {}
    if dark:
        edges = f"the middle of the image's {' and '.join(dark)} edges"
        reasons = dict.fromkeys(("span", "frustum", "angular"), DARK.format(edges))
    if None in pixel.values():
        reasons["arcmin_per_px"] = DARK.format("the image's middle")
    return reasons | _comfort_reasons(asked)


def _comfort_reasons(asked: Comfort) -> dict[str, str]:
    reasons = {}
    if asked.focus and asked.focus["tangential"] is None:
        reasons["focus"] = NO_CORNER
    if asked.focus and asked.focus["centre"] is None:
        reasons["focus"] = DARK.format("the image's middle")
    if asked.binocular is None:
        reasons["binocular"] = NOT_BY_BOTH
    if asked.swim is None:
        reasons["swim"] = NOT_FROM_ASIDE
    return reasons
