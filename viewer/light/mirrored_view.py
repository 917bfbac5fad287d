"""What an eye sees, with what lenses and screens mirror drawn in."""

import dataclasses
from typing import Any

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.viewer.casting.kernel import STEP, Segments, Tables
from seamsight.viewer.casting.tracer import Tracer, tracer_of
from seamsight.viewer.casting.view import View
from seamsight.viewer.casting.walk import (
    dark_void,
    each_tile,
    new_segments,
    planes_met,
    unlit,
    walk,
)
from seamsight.viewer.light.mirrors import Mirror, mirrors_of

Faces = npt.NDArray[np.int32]


def with_mirror_images(view: View) -> View:
    """Return a view with what shines mirrored in lenses and screens; as it is without lamps.

    Only what is mirrored once is drawn, also where it is seen through lenses. What is seen through
    a lens loses nothing for it.
    """
    assembly = view.assembly
    if not assembly.rig.lamp:
        return view
    projection = view.projection
    tracer = tracer_of(assembly)
    tables = unlit(tracer.tables_for(view.eye, projection))
    grid = projection.columns(), projection.rows()
    samples = projection.samples
    light = view.light.copy()

    def draw(rows: slice, rays: Segments) -> None:
        mirrored = mirrored_light(assembly, tracer, tables, rays)
        blocks = mirrored.reshape(rows.stop - rows.start, samples, projection.width, samples, 3)
        light[rows] += blocks.mean(axis=(1, 3))

    each_tile(view.eye, projection.axes, grid, samples, draw)
    return dataclasses.replace(view, light=light)


def mirrored_light(assembly: Assembly, tracer: Tracer, tables: Tables, segments: Segments) -> Array:
    """Return the light (n, 3) that rays (n) see mirrored; see `unlit` for the tables."""
    count = len(segments.ray)
    onward = _Onward(assembly)
    walk(tracer.caster, tables, segments, met=onward.met)
    sent = onward.segments()
    light = np.zeros((count, 3))
    if sent is not None:
        fates = walk(tracer.caster, tables, sent, met=dark_void)
        # several segments of one ray may be mirrored: at a lens, and at the screen behind it
        np.add.at(light, onward.rays(), fates.light)
    return light


class _Onward:
    """Gathers how rays go on from what mirrors them."""

    def __init__(self, assembly: Assembly) -> None:
        self._assembly = assembly
        self._mirrors: dict[int, Mirror] = {one.part: one for one in mirrors_of(assembly)}
        self._mirror_of_face = np.isin(assembly.part_of_face, list(self._mirrors))
        self._found: list[tuple[npt.NDArray[Any], ...]] = []

    def met(self, segments: Segments, count: int, faces: Faces) -> None:
        """Take note of what meets a mirror; see `walk.Met`."""
        on_mirror = np.flatnonzero((faces >= 0) & self._mirror_of_face[faces])
        if not len(on_mirror):
            return
        points, normals = planes_met(self._assembly, segments, on_mirror, faces[on_mirror])
        before = segments.directions[on_mirror]
        cosines = -(before * normals).sum(axis=1)
        onward = before + 2 * cosines[:, None] * normals
        weights = segments.weight[on_mirror].copy()
        parts = self._assembly.part_of_face[faces[on_mirror]]
        for part in np.unique(parts):
            rows = parts == part
            weights[rows] *= self._mirrors[int(part)].reflectance(np.clip(cosines[rows], 0, 1))
        channels = segments.channel[on_mirror].copy()
        rays = segments.ray[on_mirror].copy()
        self._found.append((points + STEP * onward, onward, weights, channels, rays))

    def rays(self) -> npt.NDArray[np.int64]:
        """Return of which ray each of the segments is."""
        return np.concatenate([found[4] for found in self._found])

    def segments(self) -> Segments | None:
        """Return how the rays go on, None for none; each counts as a ray of its own."""
        if not self._found:
            return None
        origins, directions, weights, channels, _ = (
            np.concatenate(arrays) for arrays in zip(*self._found, strict=True)
        )
        sent = new_segments(len(origins))
        sent.origins[:] = sent.origins32[:] = origins
        sent.directions[:] = sent.directions32[:] = directions
        sent.weight[:] = weights
        sent.channel[:] = channels
        sent.ray[:] = np.arange(len(origins))
        return sent
