"""The sample rigs that come with the program, and starting a rig of one's own from one."""

import tomllib
from importlib import resources
from pathlib import Path

from seamsight.scene.display import CONTENT, Wide
from seamsight.scene.rig import Rig
from seamsight.scene.rig_file import read_rig

SCHEMA = "rig.schema.json"


def sample_files() -> dict[str, Path]:
    """Return the shipped rigs: name to file."""
    folder = Path(str(resources.files("seamsight.sample_rigs")))
    return {path.stem: path for path in sorted(folder.glob("*.toml"))}


def sample_notes() -> dict[str, str]:
    """Return what each shipped rig is, in its own words."""
    return {
        name: tomllib.loads(path.read_text("utf-8"))["name"]
        for name, path in sample_files().items()
    }


def schema_file() -> Path:
    """Return the file of the JSON Schema that stands beside the samples."""
    return Path(str(resources.files("seamsight.sample_rigs"))) / SCHEMA


def files_to_start_from(sample: Path) -> dict[str, bytes]:
    """Return what a copy of a sample needs beside its rig file, the schema too; name to content."""
    names = {SCHEMA, *named_files(read_rig(sample))}
    return {name: (sample.parent / name).read_bytes() for name in sorted(names)}


def named_files(rig: Rig) -> set[str]:
    """Return the names of the pictures and meshes that a rig file names."""
    displays = [*rig.screen, *(bank.screen for bank in rig.bank)]
    pictures = [d.shows.wide if isinstance(d.shows, Wide) else d.shows for d in displays]
    return {mesh.file for mesh in rig.mesh} | {name for name in pictures if name not in CONTENT}
