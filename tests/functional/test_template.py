"""`seamsight template`: DXF, SVG and PDF at 1:1, and what it refuses."""

import io

import ezdxf
import pytest

PANEL = ["--part", "main panel"]


@pytest.fixture(scope="module")
def main_sample(sample_rigs):
    return sample_rigs / "harbour_floatplane.toml"


def test_dxf_holds_the_panel_s_holes(call, main_sample, tmp_path):
    done = call("template", main_sample, "panel.dxf", *PANEL)
    assert "grooved face goes towards the pilot" in " ".join(done.stdout.split())
    document = ezdxf.read(io.StringIO((tmp_path / "panel.dxf").read_text("utf-8")))
    circles = document.modelspace().query('CIRCLE[layer=="CUT"]')
    radii = sorted(round(one.dxf.radius, 3) for one in circles)
    assert radii == [6] * 5 + [11.25, 15.75, 15.75] + [26] * 4 + [28]
    named = {text.dxf.text for text in document.modelspace().query("TEXT")}
    assert {"airspeed", "water rudder", "image of map"} <= named


@pytest.mark.parametrize("name", ["all.dxf", "all.svg", "all.pdf"])
def test_all_boards_of_a_sample(call, main_sample, tmp_path, name):
    text = call("template", main_sample, name).stdout
    assert ("roof" in text) == (name != "all.pdf")  # a plain board
    assert "outside.2 hood top" in text
    assert (tmp_path / name).stat().st_size > 10_000


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["out.png"], "must end in .pdf, .svg or .dxf"),
        (["out.pdf", "--paper", "a5"], "must be a4, a3 or letter"),
        (["out.pdf", "--part", "hohe [bold]"], 'mean "höhe [bold]"?'),
    ],
)
def test_wrong_usage(call, little_rig, tmp_path, words, said):
    assert said in " ".join(call("template", little_rig, *words, status=2).stderr.split())
    assert list(tmp_path.iterdir()) == [little_rig]


def test_nothing_to_draw(call, little_rig, tmp_path):
    done = call("template", little_rig, "out.pdf", status=1)
    assert "no board or plate that needs a template" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert list(tmp_path.iterdir()) == [little_rig]


def test_a_plain_board_is_drawn_when_it_is_named(call, little_rig, tmp_path):
    call("template", little_rig, "out.pdf", "--part", "höhe [bold]", "--paper", "letter")
    assert (tmp_path / "out.pdf").read_bytes().startswith(b"%PDF")


def test_too_many_sheets(call, tmp_path, little_rig):
    little_rig.write_text(
        little_rig.read_text("utf-8").replace("[400, 300, 40]", "[90000, 300, 40]"), "utf-8"
    )
    words = ["out.pdf", "--part", "höhe [bold]", "--set", "höhe [bold].centre=[0, 0, 2000]"]
    assert "too many" in call("template", little_rig, *words, status=1).stderr
    assert list(tmp_path.iterdir()) == [little_rig]
