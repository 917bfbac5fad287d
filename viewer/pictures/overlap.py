"""Which eyes see each place of the screens: as each eye sees them, and each screen drawn flat."""

from PIL import Image

from seamsight.scene.assembly import Assembly
from seamsight.viewer.casting.trace import see
from seamsight.viewer.eye import Eyes
from seamsight.viewer.numbers.areas import image_areas
from seamsight.viewer.pictures.flat import flat_maps
from seamsight.viewer.pictures.places import seen_by_eyes, tinted
from seamsight.viewer.projection import Projection
from seamsight.viewer.sheet import stacked, with_scale


def overlap_picture(
    assembly: Assembly, eyes: Eyes, projection: Projection, caption: str
) -> Image.Image:
    """Return a sheet of which eyes see each place of the screens.

    What each eye sees, its screens tinted: both eyes see a place where the other eye sees that same
    place of the screen. Below, each screen drawn flat, with what hides the rest.

    Raises
    ------
    PoseError
        When an eye is inside a part.
    """
    codes = seen_by_eyes(assembly, eyes)
    sheets = []
    for eye, point in (("left", eyes.left), ("right", eyes.right)):
        view = see(assembly, point, projection, with_points=True)
        picture = Image.fromarray(tinted(view, eye, codes))
        sheets.append(with_scale(picture, projection, f"{caption}, {eye} eye"))
    maps = flat_maps(assembly, image_areas(assembly, eyes), sheets[0].width)
    return stacked([*sheets, maps])
