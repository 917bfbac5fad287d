"""The rig in 3D, with the head, its lines of sight, and the virtual images of the lenses.

Off-screen, as the page has it::

    plotter = off_screen(640, 480)
    stage = Stage(plotter, preview.assembly(LiveState()))  # with its lenses
    stage.show(preview.eyes(state), lenses=state.lenses)
    stage.place_camera(Orbit(azimuth=-35.0, elevation=30.0))
    picture = snapshot(plotter)  # (480, 640, 3) uint8
    plotter.close()
"""

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.content import coarseness
from seamsight.scene.frames import transform
from seamsight.scene.kind import Kind
from seamsight.scene.parts import Part
from seamsight.viewer.casting.world import is_painted, picture_on
from seamsight.viewer.eye import Eyes
from seamsight.viewer.live.head_room import SEEN, Room
from seamsight.viewer.live.plotting import (
    add_mesh,
    body_above,
    crisp_edges,
    head_mesh,
    light_from_camera,
    lines,
    mesh_of,
    rectangle,
    texture,
)
from seamsight.viewer.live.stage_shapes import ball_around, image_corners, sight
from seamsight.viewer.live.state import Orbit

SKY, FLOOR = "#f7f6f2", "#d3d7da"
LENS, IMAGE, EDGE = "#5b9bc8", "#e08a00", "#3c4046"
SIGHT = {"left": "#c8501e", "right": "#00724e"}
STAGE_LEGEND = {
    "lens": LENS,
    "virtual image": IMAGE,
    "left eye": SIGHT["left"],
    "right eye": SIGHT["right"],
}
ROOM_COLOUR = "#7a3fa8"
ROOM_LEGEND = {"head room": ROOM_COLOUR}
BEHIND_ROOM = 0.35  # of a head's opacity: else it would hide the room
TEXTURE_ACROSS = 480  # pixels; enough for a screen a few centimetres wide in the picture
VIEW_ANGLE = 30.0  # degrees from top to bottom of the 3D view


class Stage:
    """The rig with its head, in a plotter's present renderer, which it empties.

    Parameters
    ----------
    plotter : pyvista.Plotter
    assembly : Assembly
        The rig with its lenses.

    Raises
    ------
    FileError
        When a picture file of the rig cannot be read.
    """

    def __init__(self, plotter: Any, assembly: Assembly) -> None:
        self._assembly = assembly
        self._plotter = plotter
        self._renderer = plotter.renderer
        self._renderer.clear_actors()
        self._renderer.set_background(FLOOR, top=SKY)
        light_from_camera(self._renderer)

        # Add what stays, what goes with the lenses, and what moves with the head.
        self._add_solids()
        self._glass = self._add_lenses()
        head = head_mesh(assembly.rig.pilot.pupil_distance)
        self._head = self._add(head, scalars="colour", rgb=True, smooth_shading=True)
        self._sight = {eye: lines([]) for eye in SIGHT}
        for eye, ways in self._sight.items():
            self._add(ways, color=SIGHT[eye], line_width=2, lighting=False)
        self._room: Room | None = None
        self._body = lines([])
        self._room_actor = self._add(self._body, color=ROOM_COLOUR, opacity=0.4, culling="back")

        self._middle, self._radius = ball_around(self._assembly)
        self._renderer.camera.view_angle = VIEW_ANGLE
        self.place_camera(Orbit())

    def show(self, eyes: Eyes, *, lenses: bool = True) -> None:
        """Put the head and its lines of sight where they are now, with or without the lenses.

        Draws nothing yet.
        """
        self._head.user_matrix = transform(eyes.axes, eyes.mid)
        for actor in self._glass:
            actor.SetVisibility(lenses)
        screens = self._assembly.screens
        for eye, drawn in self._sight.items():
            ways = [sight(screen, eyes.point(eye), lenses=lenses) for screen in screens]
            drawn.copy_from(lines(ways))

    def show_room(self, room: Room | None) -> None:
        """Show a head room, or none. Draws nothing yet."""
        self._room_actor.SetVisibility(room is not None)
        self._head.prop.opacity = BEHIND_ROOM if room else 1.0
        if room and room is not self._room:
            self._body.copy_from(body_above(room.shares, room.corner, room.step, SEEN))
        self._room = room

    def place_camera(self, orbit: Orbit) -> None:
        """Move the camera to a place about the screens and the head."""
        turn = math.radians(orbit.azimuth)
        rise = math.radians(orbit.elevation)
        outward = np.array(
            [math.sin(turn) * math.cos(rise), -math.cos(turn) * math.cos(rise), math.sin(rise)]
        )

        # Go back so far that all is seen the narrow way too.
        width, height = self._renderer.GetSize()
        half = math.radians(VIEW_ANGLE / 2)
        if width < height:
            half = math.atan(math.tan(half) * width / height)
        far = orbit.distance * self._radius / math.sin(half)

        camera = self._renderer.camera
        camera.focal_point = self._middle
        camera.position = self._middle + far * outward
        camera.up = (0.0, 0.0, 1.0)
        camera.clipping_range = (far / 50, far * 50)
        self._renderer.camera_set = True

    def _add(self, mesh: Any, **how: Any) -> Any:
        return add_mesh(self._plotter, mesh, **how)

    def _add_solids(self) -> None:
        """Add what no ray goes through, and what the screens show."""
        opaque = [part for part in self._assembly.parts if part.kind is Kind.OPAQUE]
        self._add_opaque([part for part in opaque if part.role != "lens frame"])
        coarse = coarseness(self._assembly.screens)
        for screen in self._assembly.screens:
            # what is painted for the purpose needs no more pixels
            across = screen.display.pixels[0] // TEXTURE_ACROSS if is_painted(screen) else 0
            content = picture_on(screen, self._assembly.rig, max(coarse, across))
            step = max(1, content.shape[1] // TEXTURE_ACROSS)
            fewer_pixels = np.ascontiguousarray(content[::step, ::step])
            image = rectangle(image_corners(screen))
            self._add(image, texture=texture(fewer_pixels), lighting=False)

    def _add_opaque(self, parts: Sequence[Part]) -> list[Any]:
        if not parts:
            return []
        mesh = mesh_of(parts)
        return [
            self._add(mesh, scalars="colour", rgb=True, ambient=0.3, diffuse=0.75),
            self._add(crisp_edges(mesh), color=EDGE, line_width=1, lighting=False),
        ]

    def _add_lenses(self) -> list[Any]:
        """Add lenses, their frames and virtual images; return what goes when the lenses do."""
        frames = [part for part in self._assembly.parts if part.role == "lens frame"]
        actors = self._add_opaque(frames)

        # Make each lens a clear body with a rim.
        for part in self._assembly.parts:
            if part.kind is Kind.LENS:
                mesh = mesh_of([part])
                actors += [
                    self._add(mesh, color=LENS, opacity=0.22, lighting=False),
                    self._add(crisp_edges(mesh), color=LENS, line_width=2, lighting=False),
                ]

        # Make each virtual image a clear rectangle with an outline.
        for screen in self._assembly.screens:
            if screen.lens:
                corners = image_corners(screen, virtual=True)
                outline = lines([np.vstack([corners, corners[:1]])])
                actors += [
                    self._add(rectangle(corners), color=IMAGE, opacity=0.12, lighting=False),
                    self._add(outline, color=IMAGE, line_width=2, lighting=False),
                ]
        return actors
