"""What tests of outputs share: a rig of three equal screens and two of their own."""

import pytest

from seamsight.scene.layout import place

THREE = {"width": 474, "height": 296, "pixels": [1680, 1050]}


@pytest.fixture(scope="session")
def rig_with(rig_of, screen_at):
    """Return a function from tables of outputs to a rig with screens row.1 to row.3, map, up."""

    def make(*outputs):
        return rig_of(
            bank=[{"name": "row", "count": 3, "radius": 600, "screen": THREE}],
            screen=[
                screen_at("map", pixels=[1280, 800]),
                screen_at("up", pixels=[1080, 1920], width=300, height=533),
            ],
            output=list(outputs),
        )

    return make


@pytest.fixture(scope="session")
def placed():
    """Return a function from a rig to its outputs and its screens in their places."""

    def outputs_and_screens(rig):
        return rig.output, place(rig)

    return outputs_and_screens


@pytest.fixture(scope="session")
def output_of():
    """Return a function to the table of an output, on HDMI 1.4 unless told."""

    def make(name, *screens, **keys):
        return {"name": name, "link": "HDMI 1.4", "screens": list(screens)} | keys

    return make


@pytest.fixture(scope="session")
def wide(output_of):
    """The table of an output whose splitter feeds the three equal screens."""
    splitter = {"outputs": 3, "link": "DVI single link"}
    return output_of("wide", "row.1", "row.2", "row.3", splitter=splitter)
