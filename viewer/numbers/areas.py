"""Which places of an image one eye sees, and what hides the others: exact regions, in mm.

An image is seen along ways: straight, through its own lens, or through other screens' lenses. From
each, the shadows of all that stands in that way are cut; what any way leaves is seen. What none
leaves is hidden by what the ray through the own lens (without one, the straight ray) meets first;
and where that ray passes beside the own lens without meeting anything opaque, by that lens's edge.
"""

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seamsight.scene.assembly import Assembly
from seamsight.scene.frames import Array
from seamsight.scene.kind import Kind
from seamsight.scene.layout import PlacedLens, PlacedScreen
from seamsight.scene.parts import own_part_name
from seamsight.scene.polygons import (
    Region,
    bounds_of,
    joined,
    rectangle,
    region_about,
    region_within,
)
from seamsight.viewer.eye import Eyes
from seamsight.viewer.numbers.bending import Bend, bend_of, leg_behind, shadows_behind
from seamsight.viewer.numbers.counted import counted_through
from seamsight.viewer.numbers.obstacles import Shadow, obstacles_of, shadow_of, shadows
from seamsight.viewer.numbers.order import first_met
from seamsight.viewer.numbers.ways import (
    Leg,
    Rectangle,
    aperture_of,
    image_of,
    legs_to,
    lenses_towards,
)

LEAST = 1e-9  # share of an image that is taken for none


@dataclass(frozen=True, eq=False)
class EyeAreas:
    """What one eye sees of an image. Regions are in mm from the image's middle, right and up.

    Attributes
    ----------
    seen : Region
        What it sees along any way.
    through : Region or None
        What it sees through the screen's own lens; None without one.
    hidden : dict
        From a part's id to the region that it hides.
    unsure : float
        Area, mm², by which what is seen may be wrong; 0 where no lens in the way is grooved.
    hidden_unsure : float
        Area, mm², that may be blamed on the wrong part.
    """

    seen: Region
    through: Region | None
    hidden: dict[int, Region]
    unsure: float
    hidden_unsure: float


@dataclass(frozen=True, eq=False)
class _Sight:
    """An eye (3,), rig frame, that looks for a screen's image among all parts."""

    assembly: Assembly
    screen: PlacedScreen
    eye: Array


@dataclass(frozen=True, eq=False)
class _Look:
    """What an eye sees of an image along one way.

    Attributes
    ----------
    legs : tuple of Leg
        Through a grooved lens, which has no leg behind it: the one that ends in its plane.
    window : Region
        What the lenses on the way would show with nothing else in it: of the image, or of a grooved
        lens's plane.
    cast : tuple of list of Shadow
        Leg by leg, what is in the way, within the window.
    bend : Bend or None
        From the plane of a grooved lens to the image.
    """

    legs: tuple[Leg, ...]
    window: Region
    cast: tuple[list[Shadow], ...]
    bend: Bend | None = None

    def onto_image(self, region: Region) -> tuple[Region, float]:
        """Return where a region shows on the image, and the area, mm², that this may be off."""
        return self.bend.onto_plane(region) if self.bend else (region, 0.0)

    def seen(self) -> tuple[Region, float]:
        """Return what of the image is seen, and the area, mm², that this may be off."""
        cast = [shadow for of_leg in self.cast for shadow in of_leg]
        shown, unsure = self.onto_image(self.window - joined(one.region for one in cast))
        return shown, unsure + sum(one.unsure for one in cast)


@dataclass(frozen=True, eq=False)
class ImageAreas:
    """What both eyes see of one image."""

    screen: PlacedScreen
    left: EyeAreas
    right: EyeAreas


def image_areas(assembly: Assembly, eyes: Eyes) -> dict[str, ImageAreas]:
    """Return for every screen which places of its image each eye sees, with all parts in place.

    Areas are exact, by polygons: within 1e-7 of the image for screens that are bare or behind thin
    lenses. What passes a grooved lens is bent place by place, within 1e-4, see `bending`.
    """
    return {
        screen.name: ImageAreas(
            screen,
            eye_areas(assembly, screen, eyes.left),
            eye_areas(assembly, screen, eyes.right),
        )
        for screen in assembly.screens
    }


def eye_areas(assembly: Assembly, screen: PlacedScreen, eye: Array) -> EyeAreas:
    """Return which places of a screen's image an eye (3,), rig frame, sees, with all parts there.

    A place that an eye sees along several ways counts once.
    """
    sight, base, image = _looked_at(assembly, screen, eye)
    seen, through, unsure = _seen_along(sight, base, image)
    hidden, hidden_unsure = _hidden(sight, base, image - seen)
    return EyeAreas(seen, through if screen.lens else None, hidden, unsure, hidden_unsure)


def seen_places(assembly: Assembly, screen: PlacedScreen, eye: Array) -> Region:
    """Return the places of `eye_areas` that are seen, without what hides the others."""
    seen, _, _ = _seen_along(*_looked_at(assembly, screen, eye))
    return seen


def _looked_at(
    assembly: Assembly, screen: PlacedScreen, eye: Array
) -> tuple[_Sight, _Look | None, Region]:
    """Return who looks for what, the look along the way that is meant, and the whole image."""
    sight = _Sight(assembly, screen, eye)
    image = region_about(image_of(screen).size / 2)
    return sight, _base_look(sight, image), image


def _base_look(sight: _Sight, image: Region) -> _Look | None:
    """Return the look along the way that is meant: through the own lens, or straight."""
    lens = sight.screen.lens
    if lens and aperture_of(lens).depth_of(sight.eye) < 0:
        return _look(sight, [sight.screen], image)
    return _look(sight, [], image)


def _seen_along(sight: _Sight, base: _Look | None, image: Region) -> tuple[Region, Region, float]:
    """Return what is seen along all ways, what of it through the own lens, and the area of doubt.

    Other ways are looked along only for what is lost so far.
    """
    nothing = region_within([])
    if base is None or image_of(sight.screen).depth_of(sight.eye) >= 0:
        return nothing, nothing, 0.0
    seen, unsure = base.seen()
    seen = seen ^ image
    if (image - seen).area() <= unsure:
        seen = image
    through = seen if len(base.cast) > 1 else nothing

    for lenses in _other_ways(sight, base):
        lost = image - seen
        if lost.area() <= LEAST * image.area():
            break
        more, doubt = _more(sight, lenses, lost)
        seen = seen + (more ^ lost)
        through = through + (more ^ lost) if sight.screen in lenses else through
        unsure += doubt
    return seen, through, unsure


def _other_ways(sight: _Sight, base: _Look) -> Iterator[Sequence[PlacedScreen]]:
    """Yield other ways to an image, past its lens or through others': the screens of the lenses."""
    screen = sight.screen
    eye = sight.eye
    screens = sight.assembly.screens
    if len(base.cast) > 1:
        yield []
    image = image_of(screen)
    for other in lenses_towards(screens, eye, image):
        if other is not screen and image.depth_of(_middle_of_lens(other)) < 0:
            yield [other]
    if len(base.cast) < 2 or screen.lens is None:
        return

    # in front of the own lens, or behind it
    aperture = aperture_of(screen.lens)
    for other in lenses_towards(screens, eye, aperture):
        if other is not screen and other.lens and _shows(other.lens, eye, aperture):
            yield [other, screen]
    for shadow in base.cast[1]:
        met = sight.assembly.parts[shadow.part]
        if met.kind is Kind.LENS:
            yield [screen, sight.assembly.screen(met.screen)]


def _middle_of_lens(screen: PlacedScreen) -> Array:
    assert screen.lens is not None
    return screen.lens.rig_from_lens[:3, 3]


def _shows(lens: PlacedLens, eye: Array, rectangle: Rectangle) -> bool:
    """Return whether an eye (3,) might see anything of a rectangle through a lens."""
    if lens.optic.model == "thin":
        return True  # a look will tell, and costs less
    half = aperture_of(lens).size / 2
    shown, _ = bend_of(lens, eye, rectangle).onto_plane(region_about(half))
    return not (shown ^ region_about(rectangle.size / 2)).is_empty()


def _more(sight: _Sight, lenses: Sequence[PlacedScreen], lost: Region) -> tuple[Region, float]:
    """Return what is seen of a lost region along a way, and the area, mm², that this may be off."""
    first = lenses[0].lens if lenses else None
    if first and any(_is_grooved(of) for of in lenses):
        from_behind = aperture_of(first).depth_of(sight.eye) > 0
        if from_behind or len(lenses) > 1:
            return counted_through(sight.assembly, sight.screen, sight.eye, first, lost)
    look = _look(sight, lenses, lost)
    return (region_within([]), 0.0) if look is None else look.seen()


def _is_grooved(screen: PlacedScreen) -> bool:
    return screen.lens is not None and screen.lens.optic.model == "grooved"


def _look(sight: _Sight, through: Sequence[PlacedScreen], window: Region) -> _Look | None:
    """Return what is seen of a window of an image through lenses; None where no ray goes so."""
    if through and _is_grooved(through[0]):
        return _bent_look(sight, through[0], window)
    lenses = [of.lens for of in through if of.lens]
    legs = legs_to(sight.eye, lenses, sight.screen.rig_from_screen)
    if legs is None:
        return None

    # a lens stands where its leg starts: that half-space apart, it is cast like any part
    obstacles = obstacles_of(sight.assembly)
    bounds = bounds_of(window)
    for number, of in enumerate(through, start=1):
        leg = legs[number].about(*bounds)
        leg = dataclasses.replace(leg, inside=leg.inside[1:])
        window = shadow_of(obstacles.surface(sight.assembly.lens_id(of)), leg, window)

    # beside the own lens there is mostly nothing, which that lens alone decides
    if not through and sight.screen.lens:
        own = obstacles.surface(sight.assembly.lens_id(sight.screen))
        window = window - shadow_of(own, legs[0].about(*bounds), window)
    return _Look(legs, window, tuple(shadows(obstacles, leg, window) for leg in legs))


def _bent_look(sight: _Sight, of: PlacedScreen, window: Region) -> _Look | None:
    """Return what is seen of a window of an image through a grooved lens, its own or another's."""
    lens = of.lens
    assert lens is not None
    image = image_of(sight.screen)
    before = legs_to(sight.eye, [], lens.rig_from_lens)
    behind = leg_behind(lens, sight.eye, image)
    if before is None or behind is None:
        return None
    bend = bend_of(lens, sight.eye, image)
    aperture = region_about(aperture_of(lens).size / 2)
    if of is not sight.screen and (bend.onto_plane(aperture)[0] ^ window).is_empty():
        return None

    obstacles = obstacles_of(sight.assembly)
    cast = shadows(obstacles, before[0], aperture)
    left = aperture - joined(shadow.region for shadow in cast)
    return _Look(before, aperture, (cast, shadows_behind(obstacles, bend, behind, left)), bend)


def _hidden(sight: _Sight, look: _Look | None, lost: Region) -> tuple[dict[int, Region], float]:
    """Return which part is to blame for what of a lost region, and the area, mm², of doubt."""
    assembly = sight.assembly
    screen = sight.screen
    if look is None:  # from within the image's plane
        return {assembly.part_id(own_part_name(screen.name, "housing")): lost}, 0.0
    if lost.is_empty():
        return {}, 0.0
    met = _met_on_the_way(sight, look, lost)
    hidden: dict[int, Region] = {}
    least = LEAST * screen.size[0] * screen.size[1]
    left = lost
    for one in met:
        region, doubt = look.onto_image(one.region)
        _blame(hidden, one.part, region ^ left)
        left = left - region
        least += doubt

    # the rest is lost at the lens's edge, or where its grooves let nothing pass
    edge = assembly.lens_id(screen) if screen.lens else assembly.part_id(screen.name)
    _blame(hidden, edge, left)
    hidden = {part: region for part, region in hidden.items() if region.area() > least}
    return hidden, sum((one.unsure for one in met), least if look.bend else 0.0)


def _blame(hidden: dict[int, Region], part: int, region: Region) -> None:
    hidden[part] = hidden[part] + region if part in hidden else region


def _met_on_the_way(sight: _Sight, look: _Look, lost: Region) -> list[Shadow]:
    """Return what rays to a lost region meet first, where it is opaque or another's lens."""
    obstacles = obstacles_of(sight.assembly)
    everywhere = rectangle(look.bend.low, look.bend.high) if look.bend else lost
    within = everywhere ^ look.window

    # what is met before the first lens comes before what is met behind it
    met = []
    for cast in look.cast:
        of_leg = [dataclasses.replace(one, region=one.region ^ within) for one in cast]
        met += first_met(obstacles, of_leg)
        within = within - joined(one.region for one in of_leg)

    # beside the own lens rays run straight on: to something opaque, or astray
    beside = shadows(obstacles, look.legs[0].endless(), everywhere - look.window)
    for one in first_met(obstacles, beside):
        part = sight.assembly.parts[one.part]
        if part.kind is not Kind.LENS and part.name != sight.screen.name:
            met.append(one)
    return met
