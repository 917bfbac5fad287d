"""What a rig file's meshes and pictures must keep, one by one and together."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any, TypeGuard

from seamsight.scene import files
from seamsight.scene.display import CONTENT
from seamsight.scene.errors import FileError
from seamsight.scene.mesh_count import MOST_TRIANGLES
from seamsight.scene.meshes import read_mesh, triangles_told
from seamsight.scene.rig_rows import images, rows
from seamsight.scene.rig_words import Data, Finding, hint, shown
from seamsight.scene.toml_lines import Path as KeyPath
from seamsight.scene.units import MM_PER_UNIT

MOST_PIXELS = 100_000_000  # of all pictures of a rig: sixteen of 3000 x 2000; 300 MB


def file_rules(data: Data, rig_file: Path) -> Iterator[Finding]:
    """Yield what is wrong with the files that a rig file names."""
    yield from _mesh_rules(data, rig_file)
    yield from _picture_rules(data, rig_file)


def _mesh_rules(data: Data, rig_file: Path) -> Iterator[Finding]:
    """Yield what is wrong with mesh files; all are counted before the first is loaded."""
    counted: list[tuple[KeyPath, str, Path, str]] = []
    sizes: dict[Path, int] = {}
    total = 0
    for path, row in rows(data, "mesh"):
        name = row.get("file")
        if not _may_be_a_file(name):
            continue
        try:
            file = files.beside(rig_file, name)
            total += images(row) * triangles_told(file)
            sizes[file] = files.size_of(file)
        except FileError as error:
            yield Finding((*path, "file"), f"file {shown(name)} {error.what}")
            continue

        too_much = _too_much(total, sum(sizes.values()))
        if too_much:
            yield Finding((*path, "file"), f"file {shown(name)} is too much: {too_much}")
            break
        unit = row.get("unit")
        counted.append((path, name, file, unit if unit in MM_PER_UNIT else "mm"))

    for path, name, file, unit in counted:
        try:
            read_mesh(file, unit)
        except FileError as error:
            yield Finding((*path, "file"), f"file {shown(name)} {error.what}")


def _too_much(triangles: int, size: int) -> str:
    """Return what the meshes of a rig may not come to together, or nothing."""
    if triangles > MOST_TRIANGLES:
        most = f"the meshes of a rig may contain {MOST_TRIANGLES:,} triangles in all"
        return f"{most} (got {triangles:,} with this one)"
    if size > files.MOST_BYTES:
        return f"the mesh files of a rig may have {files.MOST_BYTES // 2**20} MB in all"
    return ""


def _picture_rules(data: Data, rig_file: Path) -> Iterator[Finding]:
    """Yield what is wrong with picture files; how large each is is known before it is read."""
    displays = list(rows(data, "screen"))
    displays += [((*path, "screen"), row.get("screen", {})) for path, row in rows(data, "bank")]
    pixels: dict[Path, int] = {}
    for path, row in displays:
        shows = row.get("shows") if isinstance(row, dict) else None
        name = shows.get("wide") if isinstance(shows, dict) else shows
        if not _may_be_a_file(name) or name in (CONTENT if name is shows else ("world",)):
            continue
        try:
            file = files.beside(rig_file, name)
            pixels[file] = files.picture_pixels(file)
            if sum(pixels.values()) > MOST_PIXELS:
                most = (
                    f"the pictures of a rig may have {MOST_PIXELS // 10**6} million pixels in all"
                )
                yield Finding((*path, "shows"), f"picture {shown(name)} is too much: {most}")
                return
            files.read_picture(file)
        except FileError as error:
            what = f"picture {shown(name)} {error.what}{hint(name, CONTENT)}"
            yield Finding((*path, "shows"), what)


def _may_be_a_file(name: Any) -> TypeGuard[str]:
    """Return whether a name is worth looking up; what is wrong with others the models say."""
    return isinstance(name, str) and 0 < len(name) <= 80 and name.isprintable()
