"""The one file that imports pyvista: windows and pictures without one, meshes, plain panels.

All calls of one plotter come from the thread that made it.
"""

import contextlib
import ctypes
import sys
from collections.abc import Sequence
from typing import Any

import numpy as np
import pyvista as pv
from vtkmodules.vtkCommonCore import vtkLogger

from seamsight.scene.files import Picture
from seamsight.scene.frames import Array
from seamsight.scene.parts import Part
from seamsight.viewer.colour import srgb

NO_WINDOWS = ("vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow")  # VTK's choice without a display
ROOM_ON_SCREEN = 0.92  # share of a screen's sides that a window may take
LIGHT = (-0.35, 0.6, 1.0)  # where the light stands, as seen from the camera: left, above, behind
CRISP_EDGE = 25.0  # degrees between faces; flatter ones get no line
SKIN, WHITE, PUPIL = (222, 184, 150), (250, 250, 250), (30, 34, 40)
HEAD = (76.0, 96.0, 115.0)  # half the head's breadth, length and height, mm
BEHIND_EYES = 84.0  # mm from between the eyes back to the head's middle
EYEBALL = 12.0  # mm, radius

# else a missing display is told on standard error
vtkLogger.SetStderrVerbosity(vtkLogger.VERBOSITY_ERROR)
pv.global_theme.allow_empty_mesh = True  # a rig may have no screen, a mesh no sharp edge


# ---- plotters ----


def off_screen(width: int, height: int) -> Any:
    """Return a pyvista plotter that needs no display, for `snapshot`.

    Raises
    ------
    OSError
        When the system has no OpenGL.
    """
    _refuse_without_opengl("libEGL.so.1", "libOSMesa.so.8")
    plotter = pv.Plotter(off_screen=True, window_size=[width, height])
    _leave_jagged(plotter)
    return plotter


def on_screen(
    size: tuple[int, int] | None, usual: tuple[int, int], title: str, renderers: int
) -> Any:
    """Return a pyvista plotter that shows a window and leaves all keys and mouse moves alone.

    Parameters
    ----------
    size : (int, int) or None
        Pixels; None: the usual size, or less where the screen is smaller.
    usual : (int, int)
    title : str
    renderers : int
        How many of them, each to fill a part of the window.

    Raises
    ------
    OSError
        When no window can be opened.
    """
    _refuse_without_opengl("libGL.so.1")
    plotter: Any = pv.Plotter(shape=(1, renderers), border=False, title=title)
    _leave_jagged(plotter)

    # Open the window, no larger than the screen has room for.
    window = plotter.render_window
    if size is None and window.GetClassName() not in NO_WINDOWS:
        sides = zip(usual, window.GetScreenSize(), strict=True)
        usual_width, usual_height = (min(own, int(ROOM_ON_SCREEN * most)) for own, most in sides)
        usual = usual_width, usual_height
    plotter.window_size = size or usual
    plotter.show(interactive_update=True, auto_close=False)
    if not plotter.iren or not plotter.iren.initialized or window.GetClassName() in NO_WINDOWS:
        plotter.close()
        msg = "no window can be opened on this display"
        raise OSError(msg)

    # Take VTK's own answers to keys and mouse away.
    plotter.iren.interactor.SetInteractorStyle(None)
    plotter.iren.interactor.RemoveObservers("CharEvent")
    plotter.iren.clear_key_event_callbacks()
    return plotter


def snapshot(plotter: Any) -> Picture:
    """Return what a plotter shows now, (h, w, 3) uint8, top row first."""
    plotter.render()
    return np.asarray(plotter.screenshot(filename=None, return_img=True), np.uint8)


def light_from_camera(renderer: Any) -> None:
    """Make one light that goes with the camera the only one."""
    renderer.remove_all_lights()  # each of the usual five costs time at every pixel
    renderer.add_light(pv.Light(light_type="camera light", position=LIGHT))


def add_mesh(plotter: Any, mesh: Any, **how: Any) -> Any:
    """Add a mesh to a plotter's present renderer, draw nothing yet, and return its actor."""
    return plotter.add_mesh(mesh, reset_camera=False, render=False, show_scalar_bar=False, **how)


def _refuse_without_opengl(*libraries: str) -> None:
    """Raise OSError where none of some libraries is there: VTK would end the whole program."""
    if not sys.platform.startswith("linux"):
        return
    for name in libraries:
        with contextlib.suppress(OSError):
            ctypes.CDLL(name)
            return
    msg = (
        "3D views need OpenGL, which is missing: "
        "install Mesa (in Debian libegl1, libgl1, libgl1-mesa-dri)"
    )
    raise OSError(msg)


def _leave_jagged(plotter: Any) -> None:
    """Smooth no edges, which costs two thirds of the speed without a graphics processor."""
    plotter.disable_anti_aliasing()
    plotter.render_window.SetMultiSamples(0)


class Panel:
    """A plain picture that fills one of a plotter's renderers."""

    def __init__(self, plotter: Any, renderer: int) -> None:
        self._plotter = plotter
        self._renderer = renderer
        self._data: Any = None

        # Look straight at a rectangle of height 1.
        plotter.subplot(0, renderer)
        camera = plotter.camera
        camera.position = (0.0, 0.0, 1.0)
        camera.focal_point = (0.0, 0.0, 0.0)
        camera.up = (0.0, 1.0, 0.0)
        camera.parallel_projection = True
        camera.parallel_scale = 0.5
        plotter.renderer.camera_set = True

    def show(self, picture: Picture) -> None:
        """Show a picture (h, w, 3) uint8, top row first, from the plotter's next drawing on."""
        size = picture.shape[1], picture.shape[0], 1
        if self._data is None or self._data.dimensions != size:
            self._make(size)
        self._data.point_data["rgb"][:] = picture[::-1].reshape(-1, 3)
        self._data.GetPointData().GetScalars().Modified()

    def _make(self, size: tuple[int, int, int]) -> None:
        """Make the rectangle for pictures of some size."""
        self._data = pv.ImageData(dimensions=size)
        self._data.point_data["rgb"] = np.zeros((size[0] * size[1], 3), np.uint8)
        self._data.set_active_scalars("rgb")
        half = size[0] / size[1] / 2
        lower_left, lower_right = (-half, -0.5, 0.0), (half, -0.5, 0.0)
        upper_right, upper_left = (half, 0.5, 0.0), (-half, 0.5, 0.0)
        mesh = rectangle(np.array([lower_left, lower_right, upper_right, upper_left]))

        self._plotter.subplot(0, self._renderer)
        self._plotter.renderer.clear_actors()
        add_mesh(self._plotter, mesh, texture=texture(self._data), lighting=False)


# ---- meshes ----


def mesh_of(parts: Sequence[Part]) -> Any:
    """Return parts as one mesh with a colour for each face, corners shared by faces joined."""
    corners = np.concatenate([part.triangles for part in parts]).reshape(-1, 3)
    points, places = np.unique(corners, axis=0, return_inverse=True)
    faces: Any = places.reshape(-1, 3)
    mesh = pv.PolyData.from_regular_faces(points, faces)
    colours = srgb(np.array([part.colour for part in parts], np.float32))
    mesh.cell_data["colour"] = np.repeat(colours, [len(part.triangles) for part in parts], axis=0)
    return mesh


def crisp_edges(mesh: Any) -> Any:
    """Return a mesh's edges as lines, those where it is nearly flat left out."""
    return mesh.extract_feature_edges(feature_angle=CRISP_EDGE)


def rectangle(corners: Array) -> Any:
    """Return a rectangle from its corners (4, 3), lower left first, ready for a texture."""
    mesh = pv.PolyData.from_regular_faces(corners, np.array([[0, 1, 2, 3]]))
    mesh.active_texture_coordinates = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    return mesh


def texture(content: Any) -> Any:
    """Return a picture, or image data of VTK's, as what a rectangle shows."""
    make: Any = pv.Texture  # which has no types
    return make(content)


def lines(ways: Sequence[Array]) -> Any:
    """Return lines through points, each way (n, 3)."""
    if not ways:
        return pv.PolyData()
    starts = np.cumsum([0, *(len(way) for way in ways)])
    cells = [
        np.array([len(way), *range(start, start + len(way))])
        for way, start in zip(ways, starts, strict=False)
    ]
    return pv.PolyData(np.concatenate(ways), lines=np.concatenate(cells))


def body_above(values: Array, corner: Array, step: float, level: float) -> Any:
    """Return the surface of where values (i, j, k) of a grid are above a level, closed at its ends.

    Parameters
    ----------
    values : (i, j, k) float64
        Along right, forward and up.
    corner : (3,) float64
        Where the first one is.
    step : float
        mm from one to the next.
    """
    padded = np.pad(values, 1, constant_values=level - 1e3)  # so far below that it ends at once
    grid = pv.ImageData(dimensions=padded.shape, spacing=(step,) * 3, origin=corner - step)
    grid.point_data["value"] = padded.ravel(order="F")
    return grid.contour([level], scalars="value")


def head_mesh(pupil_distance: float) -> Any:
    """Return a head in its own frame: origin between the eyes, x right, y forward, z up."""
    skull = pv.Sphere(radius=1.0, theta_resolution=32, phi_resolution=24).scale(HEAD, inplace=False)
    nose = pv.Cone(
        center=(0.0, 10.0, -38.0),
        direction=(0.0, 1.0, -0.25),
        height=34.0,
        radius=13.0,
        resolution=24,
    )
    pieces = [(skull.translate((0.0, -BEHIND_EYES, -8.0), inplace=False), SKIN), (nose, SKIN)]
    for x in (-pupil_distance / 2, pupil_distance / 2):
        pieces.append((pv.Sphere(radius=EYEBALL, center=(x, -EYEBALL + 2.0, 0.0)), WHITE))
        pieces.append((pv.Sphere(radius=EYEBALL / 2, center=(x, -EYEBALL / 2 + 3.0, 0.0)), PUPIL))

    # Colour them, and join them into one.
    for piece, colour in pieces:
        piece.clear_data()
        piece.point_data["colour"] = np.tile(np.array(colour, np.uint8), (piece.n_points, 1))
    return pv.PolyData().append_polydata(*(piece for piece, _ in pieces))
