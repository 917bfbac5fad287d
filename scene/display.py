"""The tables that say what a screen and a lens are, wherever they stand: frozen models.

As in `rig.py`, they are the one source of what a key is called, what it may hold and what it means.
Lengths are mm, as in the file.
"""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Discriminator, Field, GetJsonSchemaHandler, Tag
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from seamsight.scene.mountings import Mounting
from seamsight.scene.table import Table, described
from seamsight.scene.units import (
    FARTHEST,
    Depth,
    FocalLength,
    Length,
    Mass,
    Name,
    Size,
    length_schema,
)

CONTENT = ("world", "card", "black")  # what a screen can show without a picture file


def aspect_ratio(value: object) -> object:
    """Return an aspect ratio as a rig file writes it.

    Raises
    ------
    ValueError
        When it is none.
    """
    if isinstance(value, str):
        sides = value.split(":")
        if len(sides) == 2 and all(
            side.isascii() and side.isdigit() and 0 < int(side) < 1000 for side in sides
        ):
            return value
    msg = 'is not an aspect ratio: write "16:9", "16:10" or "9:16"'
    raise ValueError(msg)


class Bezel(Table):
    """Bezel width on each side of the image area, as the pilot sees it."""

    left: Depth = Field(0.0, description="bezel width on the left")
    right: Depth = Field(0.0, description="on the right")
    top: Depth = Field(0.0, description="at the top")
    bottom: Depth = Field(0.0, description="at the bottom")


class Wide(Table):
    """One part of a picture that runs over several screens, counted from the left."""

    wide: Name = Field(
        description='picture file in the rig file\'s folder, or "world": one wide flat outside view'
    )
    field: Annotated[float, Field(strict=True, ge=1, le=170, allow_inf_nan=False)] = Field(
        120.0,
        description='with wide = "world": horizontal field of view of the whole wide view, degrees',
    )
    part: Annotated[int, Field(strict=True, ge=1, le=64)] = Field(
        description="which part, counted from the left; in a bank, the part on its first screen"
    )
    of: Annotated[int, Field(strict=True, ge=1, le=64)] = Field(description="number of parts")

    def broken_rule(self) -> str | None:
        """The part is one of those there are."""
        if self.part > self.of:
            return f"part must not be above of (got part {self.part} of {self.of})"
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

    diagonal: Size | None = Field(None, description="diagonal of the image area; with `aspect`")
    aspect: Annotated[str, BeforeValidator(aspect_ratio)] | None = Field(
        None, description='width : height, such as "16:10"; "9:16" for a screen mounted upright'
    )
    width: Size | None = Field(
        None,
        description="width of the image area; with `height`, instead of `diagonal` and `aspect`",
    )
    height: Size | None = Field(None, description="height of the image area")
    pixels: tuple[PixelCount, PixelCount] = Field(description="number of pixels: [across, down]")
    bezel: Annotated[Bezel, BeforeValidator(_bezel_sides), _OrOneLength()] = Field(
        Bezel(),
        description=(
            "bezel width: one length for all sides, or { left, right, top, bottom }; 0 if the "
            "bezel has been removed"
        ),
    )
    lip: Depth = Field(
        0.0,
        description=(
            "bezel step: distance from the screen surface forward to the bezel's front; seen at an "
            "angle, it hides a strip of the image area"
        ),
    )
    body: Size = Field(40.0, description="housing depth, from the screen surface to the back")
    luminance: Annotated[float, Field(strict=True, ge=1, le=100_000, allow_inf_nan=False)] = Field(
        250.0, description="luminance of white, cd/m²"
    )
    mass: Mass | None = Field(
        None, description="mass of the screen as it is mounted, kg; `cut-list` adds it up"
    )
    mounting: Mounting | None = Field(
        None,
        description=(
            'pattern of threaded holes in its back, [across]x[up] in mm, such as "100x100" (VESA '
            "FDMI); about the middle of the image area"
        ),
    )
    surface: Literal["glossy", "coated", "matt"] = Field(
        "glossy",
        description=(
            'front of the screen: "glossy" mirrors lamps as plain glass does, "coated" as glass '
            'with an antireflective coating, "matt" not at all'
        ),
    )
    shows: Shows = Field(
        "world",
        description=(
            'content: "world" (the outside view), "card" (a test card), "black", a picture file in '
            "the rig file's folder (PNG, JPEG, BMP, GIF, WebP), or part of a wide picture: "
            '{ wide = "shot.png", part = 1, of = 3 }'
        ),
    )

    def broken_rule(self) -> str | None:
        """One way of giving the size; a lip needs a bezel."""
        by_diagonal = [self.diagonal is not None, self.aspect is not None]
        by_sides = [self.width is not None, self.height is not None]
        if not (all(by_diagonal) and not any(by_sides)) and not (
            all(by_sides) and not any(by_diagonal)
        ):
            return "needs either diagonal and aspect, or width and height"

        if self.lip > 0 and self.bezel == Bezel():
            return (
                "lip needs a bezel: add the bezel width, or leave out lip "
                f"(got lip {self.lip:g} without a bezel)"
            )
        return None

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the image area, mm."""
        if self.width is not None and self.height is not None:
            return self.width, self.height
        assert self.diagonal is not None and self.aspect is not None
        across, down = (int(side) for side in self.aspect.split(":"))
        scale = self.diagonal / float(across**2 + down**2) ** 0.5
        return across * scale, down * scale


class Frame(Table):
    """Opaque rim of a lens, outside its clear aperture."""

    model_config = described(
        "Opaque rim of a lens, outside its clear aperture, reaching from the lens plane towards "
        "the screen."
    )

    width: Size = Field(description="width of the rim, on each side of the clear aperture")
    depth: Size = Field(description="depth, from the lens plane towards the screen")


class Optic(Table):
    """A flat Fresnel lens, parallel to the screen behind it, whichever screen that is."""

    focal_length: FocalLength = Field(description="focal length, from the maker's data sheet")
    distance: Size | None = Field(
        None, description="from the screen surface to the lens plane; or give `magnification`"
    )
    magnification: (
        Annotated[float, Field(strict=True, gt=1, le=1000, allow_inf_nan=False)] | None
    ) = Field(
        None,
        description=(
            "size of the virtual image over that of the image area, "
            "focal_length / (focal_length - distance); above 1"
        ),
    )
    width: Size = Field(description="width of the clear aperture, the part that light can pass")
    height: Size = Field(description="height of the clear aperture")
    offset: tuple[Length, Length] = Field(
        (0.0, 0.0),
        description="lens offset: the lens's middle from the screen's centre line: [right, up]",
    )
    thickness: Size = Field(
        2.0,
        description=(
            "lens thickness; with grooves to the screen all of it is in front of the lens plane, "
            "with grooves to the pilot a third"
        ),
    )
    material: Literal["acrylic"] = Field(
        "acrylic", description="decides refractive index and dispersion"
    )
    coating: Literal["none", "antireflective"] = Field(
        "none", description="decides how much the lens mirrors lamps"
    )
    grooves: Literal["pilot", "screen"] = Field(
        "pilot",
        description=(
            "groove side: the face with the grooves is towards the pilot or towards the screen; "
            "with a stock lens it decides how good the image is"
        ),
    )
    pitch: Size = Field(
        0.5,
        description=(
            "groove pitch, from groove to groove (NOT the tilt of the lens); decides how far "
            "grooves spread light (diffraction) and what bands they make with pixels (moiré); "
            "pictures never show single grooves"
        ),
    )
    draft: Annotated[float, Field(strict=True, ge=0, le=45, allow_inf_nan=False)] = Field(
        0.0,
        description=(
            "draft angle by which the groove walls lean from the lens's axis; about 2 to 5 in "
            "moulded lenses (from memory)"
        ),
    )
    model: Literal["thin", "grooved"] = Field(
        "thin",
        description=(
            '"thin": ideal, without distortion, colour fringes or loss of light; "grooved": light '
            "is refracted at every groove"
        ),
    )
    conjugates: Literal["rig", "infinity"] = Field(
        "rig",
        description=(
            'distances that the lens was designed for. "rig": made for this rig\'s screen and its '
            'virtual image; "infinity": an ordinary stock lens, made for one side at its focal '
            "length (flat side) and infinity (grooved side)"
        ),
    )
    frame: Frame | None = Field(
        None, description="lens frame: opaque rim outside the clear aperture"
    )
    mass: Mass | None = Field(
        None,
        description=(
            "mass of the lens with its frame, kg; without it `cut-list` takes that of their volume "
            "in the lens's material"
        ),
    )

    def broken_rule(self) -> str | None:
        """One way of giving the distance, and that inside the focal length."""
        if (self.distance is None) == (self.magnification is None):
            return "needs either distance or magnification, not both"

        if self.separation >= self.focal_length:
            return (
                f"must be closer to the screen than its focal length, {self.focal_length:g}, to "
                f"act as a magnifier (distance is {self.separation:g})"
            )
        if self.model == "grooved" and self.thickness >= self.separation:
            return (
                f"thickness must be below the distance to the screen, {self.separation:g} "
                f"(got {self.thickness:g})"
            )
        return None

    @property
    def separation(self) -> float:
        """Screen surface to lens plane, mm: d = f (1 - 1/M) where the file gives M."""
        if self.distance is not None:
            return self.distance
        assert self.magnification is not None
        return self.focal_length * (1 - 1 / self.magnification)
