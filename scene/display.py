"""The tables that say what a screen and a lens are, wherever they stand: frozen models.

As in `rig.py`, they are the one source of what a key is called, what it may hold and what it means.
Lengths are mm, as in the file.
"""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Discriminator, Field, GetJsonSchemaHandler, Tag
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from seamsight.scene.table import Table, described
from seamsight.scene.units import (
    FARTHEST,
    Depth,
    FocalLength,
    Length,
    Name,
    Size,
    length_schema,
)

CONTENT = ("world", "card", "black")  # what a screen can show without a picture file


def _aspect(value: object) -> object:
    if isinstance(value, str):
        sides = value.split(":")
        if len(sides) == 2 and all(
            side.isascii() and side.isdigit() and 0 < int(side) < 1000 for side in sides
        ):
            return value
    msg = 'is not an aspect ratio: write "16:9", "16:10" or "9:16"'
    raise ValueError(msg)


class Bezel(Table):
    """Border of the housing beside the image, side by side as the pilot sees it."""

    left: Depth = Field(0.0, description="width of the border on that side")
    right: Depth = Field(0.0, description="the same")
    top: Depth = Field(0.0, description="the same")
    bottom: Depth = Field(0.0, description="the same")


class Wide(Table):
    """One part of a picture that runs over several screens, counted from the left."""

    wide: Name = Field(
        description='picture file beside the rig, or "world": one flat view of the outside scene'
    )
    field: Annotated[float, Field(strict=True, ge=1, le=170, allow_inf_nan=False)] = Field(
        120.0,
        description=('with wide = "world": degrees across of the whole flat view, straight ahead'),
    )
    part: Annotated[int, Field(strict=True, ge=1, le=64)] = Field(
        description="which part, counted from the left; in a bank that of its first unit"
    )
    of: Annotated[int, Field(strict=True, ge=1, le=64)] = Field(
        description="how many parts there are"
    )

    def broken_rule(self) -> str | None:
        """The part is one of those there are."""
        if self.part > self.of:
            return f"part must be at most of (got part {self.part} of {self.of})"
        return None


# told apart by their form, so that a wrong one is one error, not one a branch
Shows = Annotated[
    Annotated[Name, Tag("text")] | Annotated[Wide, Tag("table")],
    Discriminator(lambda value: "table" if isinstance(value, dict | Wide) else "text"),
]


def _bezel_sides(value: object) -> object:
    if isinstance(value, dict | Bezel):
        return value
    return dict.fromkeys(Bezel.model_fields, value)


class _OrOneLength:
    """Lets the JSON Schema say that one length stands for all four sides."""

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return {"anyOf": [length_schema(minimum=0, maximum=FARTHEST), handler(core)]}


PixelCount = Annotated[int, Field(strict=True, ge=1, le=16384)]


class Display(Table):
    """A flat display, wherever it stands."""

    diagonal: Size | None = Field(None, description="of the visible image; with `aspect`")
    aspect: Annotated[str, BeforeValidator(_aspect)] | None = Field(
        None, description='"16:10"; `"9:16"` stands upright'
    )
    width: Size | None = Field(
        None, description="of the visible image; with `height`, instead of diagonal and aspect"
    )
    height: Size | None = Field(None, description="of the visible image")
    pixels: tuple[PixelCount, PixelCount] = Field(description="[across, down]")
    bezel: Annotated[Bezel, BeforeValidator(_bezel_sides), _OrOneLength()] = Field(
        Bezel(),
        description=(
            "width of the border: one length, or a table of left, right, top, bottom; "
            "0 when the housing is off"
        ),
    )
    lip: Depth = Field(
        0.0, description="how far the bezel's face stands proud of the image surface"
    )
    body: Size = Field(40.0, description="depth of the housing behind the image surface")
    luminance: Annotated[float, Field(strict=True, ge=1, le=100_000, allow_inf_nan=False)] = Field(
        250.0, description="of white, cd/m²"
    )
    shows: Shows = Field(
        "world",
        description=(
            '"world", "card", "black", a picture file beside the rig (PNG, JPEG, BMP, GIF, WebP), '
            'or { wide = "shot.png", part = 1, of = 3 }'
        ),
    )

    def broken_rule(self) -> str | None:
        """One way of giving the size; a lip needs a bezel."""
        by_diagonal = [self.diagonal is not None, self.aspect is not None]
        by_sides = [self.width is not None, self.height is not None]
        if not (all(by_diagonal) and not any(by_sides)) and not (
            all(by_sides) and not any(by_diagonal)
        ):
            return "give either diagonal and aspect, or width and height"

        if self.lip > 0 and self.bezel == Bezel():
            return (
                "a lip stands on a bezel: give a bezel, or leave out lip "
                f"(got lip {self.lip:g} without a bezel)"
            )
        return None

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the visible image, mm."""
        if self.width is not None and self.height is not None:
            return self.width, self.height
        assert self.diagonal is not None and self.aspect is not None
        across, down = (int(side) for side in self.aspect.split(":"))
        scale = self.diagonal / float(across**2 + down**2) ** 0.5
        return across * scale, down * scale


class Frame(Table):
    """Opaque surround of a lens, outside its clear aperture."""

    model_config = described(
        "Opaque surround of a lens, outside its clear aperture, reaching from the lens plane "
        "towards the screen."
    )

    width: Size = Field(description="of the surround, on each side of the aperture")
    depth: Size = Field(description="from the lens plane towards the screen")


class Optic(Table):
    """A flat Fresnel lens square to a screen's axis, whichever screen that is."""

    focal_length: FocalLength = Field(description="of the lens; the maker's data sheet has it")
    distance: Size | None = Field(
        None, description="image surface to lens plane; or give `magnification`"
    )
    magnification: (
        Annotated[float, Field(strict=True, gt=1, le=1000, allow_inf_nan=False)] | None
    ) = Field(None, description="focal_length / (focal_length - distance); above 1")
    width: Size = Field(description="of the clear aperture")
    height: Size = Field(description="of the clear aperture")
    offset: tuple[Length, Length] = Field(
        (0.0, 0.0), description="lens centre right of and above the screen's axis"
    )
    thickness: Size = Field(
        2.0,
        description=(
            "of the sheet; with grooves to the screen all of it is in front of the lens plane, "
            "with grooves to the pilot a third"
        ),
    )
    material: Literal["acrylic"] = Field(
        "acrylic", description="sets refractive index and dispersion"
    )
    grooves: Literal["pilot", "screen"] = Field(
        "pilot",
        description=(
            "side that the grooves face; with a stock lens it decides how good the image is"
        ),
    )
    pitch: Size = Field(
        0.5,
        description=(
            "groove spacing; decides how far grooves spread light (diffraction) and what bands "
            "they make with pixels (moiré); in pictures grooves are too fine to be seen singly"
        ),
    )
    draft: Annotated[float, Field(strict=True, ge=0, le=45, allow_inf_nan=False)] = Field(
        0.0,
        description=(
            "degrees by which the groove walls lean from the axis; about 2 to 5 in moulded sheets "
            "(from memory)"
        ),
    )
    model: Literal["thin", "grooved"] = Field(
        "thin", description='"thin": ideal; "grooved": Snell\'s law through each facet'
    )
    conjugates: Literal["rig", "infinity"] = Field(
        "rig",
        description=(
            'the two distances that the grooves are cut for. "infinity": an ordinary stock lens, '
            "for its focal_length on the flat side and infinity on the grooved side; "
            '"rig": made to order for this rig, for the screen and its image'
        ),
    )
    frame: Frame | None = Field(None, description="opaque surround outside the clear aperture")

    def broken_rule(self) -> str | None:
        """One way of giving the distance, and that inside the focal length."""
        if (self.distance is None) == (self.magnification is None):
            return "give either distance or magnification, and only one of them"

        if self.separation >= self.focal_length:
            return (
                "makes no upright image: the distance from screen to lens must be below "
                f"focal_length {self.focal_length:g} (got {self.separation:g})"
            )
        if self.model == "grooved" and self.thickness >= self.separation:
            return (
                f"thickness must be below the distance to the screen, {self.separation:g} "
                f"(got {self.thickness:g})"
            )
        return None

    @property
    def separation(self) -> float:
        """Image surface to lens plane, mm: d = f (1 - 1/M) where the file gives M."""
        if self.distance is not None:
            return self.distance
        assert self.magnification is not None
        return self.focal_length * (1 - 1 / self.magnification)
