"""An assembly made ready for rays: all that is kept of it between calls."""

import threading
from collections.abc import Hashable, Mapping
from weakref import WeakKeyDictionary

from seamsight.scene.assembly import Assembly
from seamsight.scene.content import coarseness
from seamsight.scene.files import Picture
from seamsight.scene.frames import Array
from seamsight.scene.recent import Recent
from seamsight.viewer.casting.caster import Caster
from seamsight.viewer.casting.frustum import FlatView
from seamsight.viewer.casting.kernel import Tables
from seamsight.viewer.casting.tables import averaged, bare_tables, shrink_factors, with_pictures
from seamsight.viewer.casting.world import is_painted, picture_key, picture_on
from seamsight.viewer.projection import Projection

MOST_TABLES = 256 << 20  # bytes; both eyes at rest and on the move need 3, some 20 MB together
MOST_PICTURES = 128 << 20  # bytes


class Tracer:
    """An assembly made ready for rays. Several threads may use it at once.

    It does not hold the assembly itself, so that both go when nobody needs the assembly any more.

    Attributes
    ----------
    caster : Caster
    bare : Tables
        With black screens, for where only places count.
    """

    def __init__(self, assembly: Assembly) -> None:
        self.caster = Caster(assembly.triangles, assembly.flat_surfaces, assembly.corners)
        self.bare = bare_tables(assembly)
        self._rig = assembly.rig
        self._screens = assembly.screens
        self._coarse = coarseness(assembly.screens)
        self._images = [assembly.part_id(screen.name) for screen in assembly.screens]
        self._tables = Recent[Tables](MOST_TABLES, lambda tables: tables.texels.nbytes)

    def tables_for(self, eye: Array, projection: Projection, *, draft: bool = False) -> Tables:
        """Return tables whose screens are averaged down as far as rays from an eye (3,) ask for.

        In a draft, an outside view that would first have to be painted is painted in no more pixels
        than rays ask for, rather than at the screen's native pixels and averaged.
        """
        factors = self._factors(eye, projection)
        if draft and not all(map(self._is_kept, range(len(factors)), factors)):
            return self._tables.get((factors, "draft"), lambda: self._filled(factors, draft=True))
        return self._tables.get(factors, lambda: self._filled(factors))

    def tables_with(
        self, eye: Array, projection: Projection, views: Mapping[str, FlatView]
    ) -> Tables:
        """Return tables like `tables_for`, of screens that show the outside in views by name.

        These are painted in no more pixels than rays ask for: nobody looks at them closely.
        """
        pictures = []
        for number, factor in enumerate(self._factors(eye, projection)):
            screen = self._screens[number]
            if view := views.get(screen.name):
                pictures.append(picture_on(screen, self._rig, self._coarse * factor, view))
            else:
                pictures.append(self._picture(number, factor))
        return with_pictures(self.bare, self._images, pictures)

    def _factors(self, eye: Array, projection: Projection) -> tuple[int, ...]:
        """Return how many of the pixels that screens are shown in make one that rays ask for."""
        native = shrink_factors(self._screens, eye, projection)
        return tuple(max(1, factor // self._coarse) for factor in native)

    def _filled(self, factors: tuple[int, ...], *, draft: bool = False) -> Tables:
        picture = self._drafted if draft else self._picture
        pictures = [picture(number, factor) for number, factor in enumerate(factors)]
        return with_pictures(self.bare, self._images, pictures)

    def _picture(self, number: int, factor: int) -> Picture:
        """Return what a screen shows, averaged down; most factors stay when a head moves on."""

        def make() -> Picture:
            shown = picture_on(self._screens[number], self._rig, self._coarse)
            return averaged(shown, factor)

        return _averaged.get(self._key(number, factor), make)

    def _drafted(self, number: int, factor: int) -> Picture:
        if self._is_kept(number, factor) or not is_painted(self._screens[number]):
            return self._picture(number, factor)
        return picture_on(self._screens[number], self._rig, self._coarse * factor)

    def _is_kept(self, number: int, factor: int) -> bool:
        return self._key(number, factor) in _averaged

    def _key(self, number: int, factor: int) -> Hashable:
        return picture_key(self._screens[number], self._rig, self._coarse), factor


# for all assemblies, as most pictures stay when a rig is changed
_averaged = Recent[Picture](MOST_PICTURES, lambda picture: picture.nbytes)


def tracer_of(assembly: Assembly) -> Tracer:
    """Return an assembly's tracer, made at the first call and kept as long as the assembly."""
    with _lock:
        tracer = _tracers.get(assembly)
        if tracer is None:
            tracer = _tracers[assembly] = Tracer(assembly)
    return tracer


_tracers: WeakKeyDictionary[Assembly, Tracer] = WeakKeyDictionary()
_lock = threading.Lock()
