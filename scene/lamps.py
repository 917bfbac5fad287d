"""The table of what shines in the room besides screens: a frozen model."""

import math
from typing import Annotated, Literal

from pydantic import Field

from seamsight.scene.solids import Thing
from seamsight.scene.units import Size

Luminance = Annotated[float, Field(strict=True, ge=0.01, le=1e7, allow_inf_nan=False)]
LuminousFlux = Annotated[float, Field(strict=True, ge=0.1, le=1e7, allow_inf_nan=False)]


class Lamp(Thing):
    """A flat face that shines: a ceiling lamp, or a window; `centre` is the face's middle."""

    kind: Literal["lamp", "window"] = Field(
        "lamp", description='"lamp", or "window": the sun can shine in'
    )
    size: tuple[Size, Size] = Field(description="[width, height] of the face that shines")
    luminance: Luminance | None = Field(
        None,
        description=(
            "luminance of the face, cd/m², the same from all sides; an overcast sky has about "
            "2,000, a clear one 7,000"
        ),
    )
    lumens: LuminousFlux | None = Field(
        None, description="luminous flux of the whole face, lm; instead of `luminance`"
    )
    depth: Size = Field(20.0, description="from the face to the back of the lamp or window frame")

    def broken_rule(self) -> str | None:
        """One way of saying how bright it is."""
        if (self.luminance is None) == (self.lumens is None):
            return "needs either luminance or lumens, not both"
        return None

    @property
    def brightness(self) -> float:
        """Luminance, cd/m².

        A face that looks equally bright from all sides gives pi L A lumens (Lambert; any textbook
        of photometry).
        """
        if self.luminance is not None:
            return self.luminance
        assert self.lumens is not None
        return self.lumens / (math.pi * self.size[0] * self.size[1] * 1e-6)
