"""The rig in 3D, drawn by pyvista: the one file that imports it. The window and the page both use it.

Off-screen (for the page), all in one thread, the one that made the plotter::

    plotter = off_screen(640, 480)
    stage = Stage(plotter, preview.assembly(LiveState()))  # with its lenses
    stage.show(preview.eyes(state), lenses=state.lenses)
    stage.place_camera(Orbit(azimuth=-35.0, elevation=30.0))
    picture = snapshot(plotter)  # (480, 640, 3) uint8
    plotter.close()
"""

import contextlib
import ctypes
import math
import sys
from collections.abc import Sequence
from typing import Any

import numpy as np
import pyvista as pv
from vtkmodules.vtkCommonCore import vtkLogger

from seamsight.scene.assembly import Assembly
from seamsight.scene.files import Picture
from seamsight.scene.frames import Array, transform
from seamsight.scene.kind import Kind
from seamsight.scene.layout import PlacedScreen
from seamsight.scene.optics import magnification
from seamsight.scene.parts import Part
from seamsight.viewer.casting.sightlines import directions_to_image, image_points
from seamsight.viewer.casting.world import picture_on
from seamsight.viewer.colour import srgb
from seamsight.viewer.eye import Eyes
from seamsight.viewer.live.state import Orbit

SKY, FLOOR = "#f7f6f2", "#d3d7da"
LENS, IMAGE, EDGE = "#5b9bc8", "#e08a00", "#3c4046"
SIGHT = {"left": "#c8501e", "right": "#00724e"}
STAGE_KEY = {"lens": LENS, "image": IMAGE, "left eye": SIGHT["left"], "right eye": SIGHT["right"]}
SKIN, WHITE, PUPIL = (222, 184, 150), (250, 250, 250), (30, 34, 40)
HEAD = (76.0, 96.0, 115.0)  # half the head's breadth, length and height, mm
BEHIND_EYES = 84.0  # mm from between the eyes back to the head's middle
EYEBALL = 12.0  # mm, radius
CRISP_EDGE = 25.0  # degrees between faces; flatter ones get no line
TEXTURE_ACROSS = 480  # pixels; enough for a screen a few centimetres wide in the picture
ROOM = 150.0  # mm left about the eye point for the head
NO_WINDOWS = (
    "vtkEGLRenderWindow",
    "vtkOSOpenGLRenderWindow",
)  # what VTK falls back to without a display
ROOM_ON_SCREEN = 0.92  # share of a screen's sides that a window may take
LIGHT = (-0.35, 0.6, 1.0)  # where the light stands, as seen from the camera: left, above, behind
VIEW_ANGLE = 30.0  # degrees from top to bottom of the 3D view

vtkLogger.SetStderrVerbosity(
    vtkLogger.VERBOSITY_ERROR
)  # else a missing display is told on standard error
pv.global_theme.allow_empty_mesh = True  # a rig may have no screen, a mesh no sharp edge


def off_screen(width: int, height: int) -> Any:
    """Return a pyvista plotter that needs no display, for `Stage` and `snapshot`.

    Raises
    ------
    OSError
        When the system has no OpenGL.
    """
    _refuse_without_opengl("libEGL.so.1", "libOSMesa.so.8")
    plotter = pv.Plotter(off_screen=True, window_size=[width, height])
    plain(plotter)
    return plotter


def _refuse_without_opengl(*libraries: str) -> None:
    """Raise OSError where none of some libraries is there: VTK would end the whole program."""
    if not sys.platform.startswith("linux"):
        return
    for name in libraries:
        with contextlib.suppress(OSError):
            ctypes.CDLL(name)
            return
    msg = "drawing in 3D needs OpenGL, which this system lacks: install Mesa (in Debian libegl1, libgl1, libgl1-mesa-dri)"
    raise OSError(msg)


def plain(plotter: Any) -> None:
    """Take a plotter's smoothing away, which costs two thirds of the speed without a graphics processor."""
    plotter.disable_anti_aliasing()
    plotter.render_window.SetMultiSamples(0)


def snapshot(plotter: Any) -> Picture:
    """Return what a plotter shows now, (h, w, 3) uint8, top row first."""
    plotter.render()
    return np.asarray(plotter.screenshot(filename=None, return_img=True), np.uint8)


class Stage:
    """The rig with head, eyes, lines of sight and virtual images, in a plotter's present renderer, which it empties.

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
        self._plotter, self._renderer = plotter, plotter.renderer
        self._renderer.clear_actors()
        self._renderer.set_background(FLOOR, top=SKY)
        self._renderer.remove_all_lights()  # each of the usual five costs time at every pixel
        self._renderer.add_light(pv.Light(light_type="camera light", position=LIGHT))
        self._add_solids()
        self._glass = self._add_lenses()
        self._head = self._add(
            _head(assembly.rig.pilot.pupil_distance),
            scalars="colour",
            rgb=True,
            smooth_shading=True,
        )
        self._sight = {eye: _lines([]) for eye in SIGHT}
        for eye, lines in self._sight.items():
            self._add(lines, color=SIGHT[eye], line_width=2, lighting=False)
        self._middle, self._radius = _ball_around(self._assembly)
        self._renderer.camera.view_angle = VIEW_ANGLE
        self.place_camera(Orbit())

    def show(self, eyes: Eyes, *, lenses: bool = True) -> None:
        """Put the head and its lines of sight where they are now, with or without the lenses; draws nothing yet."""
        self._head.user_matrix = transform(eyes.axes, eyes.mid)
        for actor in self._glass:
            actor.SetVisibility(lenses)
        for eye, lines in self._sight.items():
            ways = [
                sight(screen, eyes.point(eye), lenses=lenses) for screen in self._assembly.screens
            ]
            lines.copy_from(_lines(ways))

    def place_camera(self, orbit: Orbit) -> None:
        """Move the camera to a place about the screens and the head."""
        turn = math.radians(orbit.azimuth)
        rise = math.radians(orbit.elevation)
        outward = np.array(
            [math.sin(turn) * math.cos(rise), -math.cos(turn) * math.cos(rise), math.sin(rise)]
        )
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
        return self._plotter.add_mesh(
            mesh, reset_camera=False, render=False, show_scalar_bar=False, **how
        )

    def _add_solids(self) -> None:
        solid = [
            part
            for part in self._assembly.parts
            if part.kind is Kind.OPAQUE and part.role != "lens frame"
        ]
        self._add_opaque(solid)
        for screen in self._assembly.screens:
            shown = picture_on(screen, self._assembly.rig)
            fewer = max(1, shown.shape[1] // TEXTURE_ACROSS)
            texture = _texture(np.ascontiguousarray(shown[::fewer, ::fewer]))
            self._add(_rectangle(image_corners(screen)), texture=texture, lighting=False)

    def _add_opaque(self, parts: Sequence[Part]) -> list[Any]:
        if not parts:
            return []
        mesh = _mesh(parts)
        edges = mesh.extract_feature_edges(feature_angle=CRISP_EDGE)
        return [
            self._add(mesh, scalars="colour", rgb=True, ambient=0.3, diffuse=0.75),
            self._add(edges, color=EDGE, line_width=1, lighting=False),
        ]

    def _add_lenses(self) -> list[Any]:
        """Add lenses, their frames and their virtual images; return what goes when the lenses do."""
        actors = self._add_opaque(
            [part for part in self._assembly.parts if part.role == "lens frame"]
        )
        for part in self._assembly.parts:
            if part.kind is Kind.LENS:
                mesh = _mesh([part])
                rim = mesh.extract_feature_edges(feature_angle=CRISP_EDGE)
                actors += [
                    self._add(mesh, color=LENS, opacity=0.22, lighting=False),
                    self._add(rim, color=LENS, line_width=2, lighting=False),
                ]
        for screen in self._assembly.screens:
            if screen.lens:
                corners = image_corners(screen, virtual=True)
                actors += [
                    self._add(_rectangle(corners), color=IMAGE, opacity=0.12, lighting=False),
                    self._add(
                        _lines([np.vstack([corners, corners[:1]])]),
                        color=IMAGE,
                        line_width=2,
                        lighting=False,
                    ),
                ]
        return actors


def image_corners(screen: PlacedScreen, *, virtual: bool = False) -> Array:
    """Return the corners of a screen's image, or of its virtual image behind an ideal lens, (4, 3), rig frame.

    The virtual image is the image drawn away from the lens's centre by the lens's magnification.
    """
    width, height = screen.size
    corners = image_points(
        screen, np.array([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]) * (width, height)
    )
    if virtual and screen.lens:
        centre, optic = screen.lens.rig_from_lens[:3, 3], screen.lens.optic
        corners = centre + magnification(optic.focal_length, optic.separation) * (corners - centre)
    return np.asarray(corners)


def sight(screen: PlacedScreen, eye: Array, *, lenses: bool = True) -> Array:
    """Return the way from an eye (3,) to the middle of a screen's image, bent at its lens; (2 or 3, 3), rig frame."""
    ends = [eye, screen.rig_from_screen[:3, 3]]
    if lenses and screen.lens:
        to_lens, away = screen.lens.rig_from_lens[:3, 3] - eye, screen.lens.rig_from_lens[:3, 1]
        way = directions_to_image(screen, eye, np.zeros((1, 2)))[0]
        steps = to_lens @ away / (way @ away)
        if np.isfinite(steps) and steps > 0:  # not from beside or behind the lens
            ends.insert(1, eye + steps * way)
    return np.array(ends)


def _mesh(parts: Sequence[Part]) -> Any:
    """Return parts as one mesh with a colour for each face, corners shared by faces joined."""
    corners = np.concatenate([part.triangles for part in parts]).reshape(-1, 3)
    points, places = np.unique(corners, axis=0, return_inverse=True)
    faces: Any = places.reshape(-1, 3)
    mesh = pv.PolyData.from_regular_faces(points, faces)
    colours = srgb(np.array([part.colour for part in parts], np.float32))
    mesh.cell_data["colour"] = np.repeat(colours, [len(part.triangles) for part in parts], axis=0)
    return mesh


def _rectangle(corners: Array) -> Any:
    """Return a rectangle from its corners (4, 3), lower left first, ready for a texture."""
    mesh = pv.PolyData.from_regular_faces(corners, np.array([[0, 1, 2, 3]]))
    mesh.active_texture_coordinates = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    return mesh


def _texture(shown: Any) -> Any:
    make: Any = pv.Texture  # which has no types
    return make(shown)


def _lines(ways: Sequence[Array]) -> Any:
    """Return lines through points, each way (n, 3)."""
    if not ways:
        return pv.PolyData()
    starts = np.cumsum([0, *(len(way) for way in ways)])
    cells = [
        np.array([len(way), *range(start, start + len(way))])
        for way, start in zip(ways, starts, strict=False)
    ]
    return pv.PolyData(np.concatenate(ways), lines=np.concatenate(cells))


def _head(pupil_distance: float) -> Any:
    """Return a head in its own frame: origin between the eyes, x right, y forward, z up."""
    skull = pv.Sphere(radius=1.0, theta_resolution=32, phi_resolution=24).scale(HEAD, inplace=False)
    pieces = [(skull.translate((0.0, -BEHIND_EYES, -8.0), inplace=False), SKIN)]
    nose = pv.Cone(
        center=(0.0, 10.0, -38.0),
        direction=(0.0, 1.0, -0.25),
        height=34.0,
        radius=13.0,
        resolution=24,
    )
    pieces.append((nose, SKIN))
    for x in (-pupil_distance / 2, pupil_distance / 2):
        pieces.append((pv.Sphere(radius=EYEBALL, center=(x, -EYEBALL + 2.0, 0.0)), WHITE))
        pieces.append((pv.Sphere(radius=EYEBALL / 2, center=(x, -EYEBALL / 2 + 3.0, 0.0)), PUPIL))
    for piece, colour in pieces:
        piece.clear_data()
        piece.point_data["colour"] = np.tile(np.array(colour, np.uint8), (piece.n_points, 1))
    return pv.PolyData().append_polydata(*(piece for piece, _ in pieces))


def _ball_around(assembly: Assembly) -> tuple[Array, float]:
    """Return middle and radius of a ball around the screens, the lenses and the pilot's head."""
    eye = np.array(assembly.rig.pilot.eye_point)
    shown = [part.triangles.reshape(-1, 3) for part in assembly.parts if part.screen]
    points = np.concatenate([*shown, eye + np.array([(-ROOM,) * 3, (ROOM,) * 3])])
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    return middle, float(np.linalg.norm(points - middle, axis=1).max())


def on_screen(size: tuple[int, int] | None, usual: tuple[int, int], title: str, parts: int) -> Any:
    """Return a pyvista plotter that shows a window with so many renderers and no keys or mouse moves of its own.

    Parameters
    ----------
    size : (int, int) or None
        Pixels; None: the usual size, or less where the screen is smaller.
    usual : (int, int)
    title : str
    parts : int
        How many renderers.

    Raises
    ------
    OSError
        When no window can be opened.
    """
    _refuse_without_opengl("libGL.so.1")
    plotter: Any = pv.Plotter(shape=(1, parts), border=False, title=title)
    plain(plotter)
    window = plotter.render_window
    if size is None and window.GetClassName() not in NO_WINDOWS:
        across, down = window.GetScreenSize()
        usual = (
            min(usual[0], int(ROOM_ON_SCREEN * across)),
            min(usual[1], int(ROOM_ON_SCREEN * down)),
        )
    plotter.window_size = size or usual
    plotter.show(interactive_update=True, auto_close=False)
    if not plotter.iren or not plotter.iren.initialized or window.GetClassName() in NO_WINDOWS:
        plotter.close()
        msg = "no window can be opened on this display"
        raise OSError(msg)
    plotter.iren.interactor.SetInteractorStyle(None)
    plotter.iren.interactor.RemoveObservers("CharEvent")
    plotter.iren.clear_key_event_callbacks()
    return plotter


class Panel:
    """A plain picture that fills one of a plotter's renderers."""

    def __init__(self, plotter: Any, part: int) -> None:
        self._plotter, self._part = plotter, part
        self._data: Any = None
        plotter.subplot(0, part)
        camera = plotter.camera
        camera.position, camera.focal_point, camera.up = (
            (0.0, 0.0, 1.0),
            (0.0, 0.0, 0.0),
            (0.0, 1.0, 0.0),
        )
        camera.parallel_projection, camera.parallel_scale = True, 0.5
        plotter.renderer.camera_set = True

    def show(self, picture: Picture) -> None:
        """Show a picture (h, w, 3) uint8, top row first, from the next time that the plotter draws."""
        size = picture.shape[1], picture.shape[0], 1
        if self._data is None or self._data.dimensions != size:
            self._make(size)
        self._data.point_data["rgb"][:] = picture[::-1].reshape(-1, 3)
        self._data.GetPointData().GetScalars().Modified()

    def _make(self, size: tuple[int, int, int]) -> None:
        self._data = pv.ImageData(dimensions=size)
        self._data.point_data["rgb"] = np.zeros((size[0] * size[1], 3), np.uint8)
        self._data.set_active_scalars("rgb")
        self._plotter.subplot(0, self._part)
        self._plotter.renderer.clear_actors()
        half = size[0] / size[1] / 2
        corners = np.array(
            [(-half, -0.5, 0.0), (half, -0.5, 0.0), (half, 0.5, 0.0), (-half, 0.5, 0.0)]
        )
        texture = _texture(self._data)
        self._plotter.add_mesh(
            _rectangle(corners),
            texture=texture,
            lighting=False,
            reset_camera=False,
            render=False,
            show_scalar_bar=False,
        )
