"""A rig as a file for other programs.

GLB has names, colours and clear lenses; OBJ has names; STL has shapes only.
"""

from typing import Any

import numpy as np
import numpy.typing as npt

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import OutputError
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.scene.parts import Part

# what glTF asks for
_METRES_Y_UP = np.array([[1e-3, 0, 0, 0], [0, 0, 1e-3, 0], [0, -1e-3, 0, 0], [0, 0, 0, 1]])
_CLEAR = 0.25  # opacity of a lens
_IMAGE_GREY = (0.02, 0.025, 0.03)  # linear; a screen that is off


def exported(assembly: Assembly, kind: str) -> bytes:
    """Return a rig as a file.

    Parameters
    ----------
    assembly : Assembly
    kind : "glb", "obj" or "stl"
        GLB is in metres with y up, as glTF 2.0 asks; OBJ and STL stay in mm with z up.

    Raises
    ------
    OutputError
        When the rig is empty.
    """
    import trimesh

    if not assembly.parts:
        msg = "this rig has no parts to export"
        raise OutputError(msg)

    scene = trimesh.Scene(base_frame="rig\nframe")  # no part is called so: names are one line
    for part in assembly.parts:
        scene.add_geometry(_mesh(part), node_name=part.name, geom_name=part.name)

    if kind == "glb":
        scene.apply_transform(_METRES_Y_UP)
        return bytes(scene.export(file_type="glb"))
    if kind == "obj":
        text: Any = scene.export(file_type="obj", include_texture=False, include_color=False)
        return str(text).encode()
    return bytes(scene.to_mesh().export(file_type="stl"))


def exported_mesh(name: str, corners: Array, faces: npt.NDArray[np.int64], kind: str) -> bytes:
    """Return one mesh of corners (c, 3), rig frame, and faces (f, 3) as a "glb" or "stl" file.

    Axes and units are those of `exported`.

    Raises
    ------
    OutputError
        When it has no faces.
    """
    import trimesh

    if not len(faces):
        msg = f"there is no {name}: the file would be empty"
        raise OutputError(msg)
    mesh = trimesh.Trimesh(corners, faces, process=False)
    if kind == "stl":
        return bytes(mesh.export(file_type="stl"))
    scene = trimesh.Scene()
    scene.add_geometry(mesh, node_name=name, geom_name=name)
    scene.apply_transform(_METRES_Y_UP)
    return bytes(scene.export(file_type="glb"))


def _mesh(part: Part) -> Any:
    """Return a part as a mesh with its material, corners shared by faces joined."""
    import trimesh
    from trimesh.visual import TextureVisuals
    from trimesh.visual.material import PBRMaterial

    colour = _IMAGE_GREY if part.kind is Kind.IMAGE else part.colour
    clear = part.kind is Kind.LENS
    material = PBRMaterial(
        name=part.name,
        baseColorFactor=[*colour, _CLEAR if clear else 1.0],
        alphaMode="BLEND" if clear else "OPAQUE",
        doubleSided=clear,
        metallicFactor=0.0,
        roughnessFactor=0.3 if clear else 0.8,
    )

    corners = part.triangles.reshape(-1, 3)
    mesh = trimesh.Trimesh(corners, np.arange(len(corners)).reshape(-1, 3), process=False)
    mesh.merge_vertices()
    mesh.visual = TextureVisuals(material=material)
    return mesh
