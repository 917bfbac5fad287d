"""What the tests share: rigs from a few tables or a text, their numbers, and the sample rigs."""

from pathlib import Path

import pytest
from hypothesis import settings

from seamsight.scene import Head, Rig, RigError, build, read_rig
from seamsight.viewer import eyes_of, measure
from seamsight.viewer.log import entry as log_entry

settings.register_profile("the same everywhere", derandomize=True, deadline=None)
settings.load_profile("the same everywhere")

SAMPLE_RIGS = Path(__file__).parents[1] / "sample_rigs"
SAMPLES = sorted(SAMPLE_RIGS.glob("*.toml"))

HEADER = 'format = 1\nname = "rig"\n[pilot]\neye_point = [0, 0, 0]\n'


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--regenerate",
        action="store_true",
        help="write reference pictures, tables of the documents and the schema anew",
    )


@pytest.fixture(scope="session")
def rig_of():
    """Return a function from tables of a rig file to a Rig with its eye at the origin."""

    def make(**tables):
        return Rig.model_validate(
            {"format": 1, "name": "rig", "pilot": {"eye_point": [0, 0, 0]}, **tables}
        )

    return make


@pytest.fixture(scope="session")
def screen_at():
    """Return a function to the table of a screen, 400 x 300 mm, 600 mm ahead unless told."""

    def make(name="screen", **keys):
        table = {"name": name, "width": 400, "height": 300, "pixels": [800, 600], "shows": "black"}
        return table | {"centre": [0, 600, 0]} | keys

    return make


@pytest.fixture(scope="session")
def numbers_of():
    """Return a function from a Rig, and keys of a head, to what `measure` gives."""

    def numbers(rig, **head):
        return measure(build(rig), eyes_of(rig, Head(name="here", **head)))

    return numbers


@pytest.fixture
def write_rig(tmp_path):
    """Return a function that writes a rig file and what stands beside it; gives its path."""

    def write(text, header=HEADER, **beside):
        for name, content in beside.items():
            (tmp_path / name.replace("__", ".")).write_bytes(content)
        content = text if isinstance(text, bytes) else (header + text).encode()
        file = tmp_path / "rig.toml"
        file.write_bytes(content)
        return file

    return write


@pytest.fixture
def problems_of(write_rig):
    """Return a function from a rig's text to the lines a user is told, without the folder."""

    def problems(text, header=HEADER, **beside):
        file = write_rig(text, header, **beside)
        with pytest.raises(RigError) as told:
            read_rig(file)
        return [line.removeprefix(f"{file.parent}/") for line in str(told.value).split("\n")]

    return problems


@pytest.fixture(scope="session")
def sample_rigs():
    """Return the folder of the sample rigs."""
    return SAMPLE_RIGS


@pytest.fixture(scope="module", params=SAMPLES, ids=lambda path: path.stem)
def sample(request):
    """Return the file of each sample rig in turn."""
    return request.param


@pytest.fixture
def small_log_pictures(monkeypatch):
    """Make what the eyes see in a log's entry small and quick to draw."""
    for name, value in {"WIDTH": 480, "HEIGHT": 210, "SAMPLES": 1}.items():
        monkeypatch.setattr(log_entry, name, value)
