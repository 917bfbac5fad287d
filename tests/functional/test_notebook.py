"""Rigs and views in a notebook: they show themselves, run by Jupyter's own client and kernel."""

import base64
import io
import re
import warnings

import pytest
from PIL import Image

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # Jupyter's packages warn of their own moves when imported
    nbclient = pytest.importorskip("nbclient")
    nbformat = pytest.importorskip("nbformat")
    pytest.importorskip("ipykernel")

CELLS = (
    "import warnings\nwarnings.simplefilter('error')\nfrom seamsight.scene import build, read_rig\n"
    "from seamsight.viewer import Projection, eyes_of, see\nrig = read_rig('rig.toml')\nrig",
    "eyes = eyes_of(rig, rig.heads()['design'])\n"
    "see(build(rig), eyes.mid, Projection('equirectangular', 320, 180, 80.0))",
)


@pytest.fixture
def outputs(little_rig, tmp_path, monkeypatch):
    """Return what each cell of a notebook beside the little rig shows: mime type to data."""
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path / "ipython"))
    monkeypatch.setenv("JUPYTER_RUNTIME_DIR", str(tmp_path / "runtime"))
    book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(cell) for cell in CELLS])
    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore"
        )  # of Jupyter's client, about event loops; ours are errors in the kernel
        nbclient.NotebookClient(
            book, timeout=120, kernel_name="python3", resources={"metadata": {"path": tmp_path}}
        ).execute()
    return [cell.outputs[-1].data for cell in book.cells]


def test_a_rig_and_a_view_show_themselves(outputs):
    rig, view = outputs
    html = rig["text/html"]
    assert "<h3>Größe [[x]]</h3>" in html
    assert (
        "<td" in html
        and "168 × 105" in html
        and "focal length 450 mm, 150 mm from the screen, ideal" in html
    )
    plan = re.search(r"data:image/png;base64,([^\"]+)", html)[1]
    drawn = Image.open(io.BytesIO(base64.b64decode(plan)))
    assert len(drawn.getcolors(1 << 20) or ()) > 20
    picture = Image.open(io.BytesIO(base64.b64decode(view["image/png"])))
    assert picture.width > 320 and picture.height > 180
    assert len(picture.getcolors(1 << 20) or ()) > 50
