"""What goes wrong in builds of a rig, measured: what shows, what is lost, how far lines break."""

import numpy as np

from seamsight.scene.assembly import Assembly
from seamsight.scene.errors import ChoiceError
from seamsight.scene.frames import Array
from seamsight.scene.parts import own_part_name
from seamsight.scene.rig import Head
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.numbers.margins import SIDES, in_front
from seamsight.viewer.numbers.seams import outside_neighbours
from seamsight.viewer.studies.tolerance_errors import GROUPS, Builds, Errors
from seamsight.viewer.studies.tolerance_sights import margins, steps
from seamsight.viewer.studies.tolerance_strips import Strips

KINDS = ("shown", "lost", "broken")
"""What may go wrong at a place.

"shown": degrees of a seam, to the worse eye, that are no image; "lost": pixels at an image's side
that the worse eye does not see, negative where it could see more than the image; "broken": arcmin
by which a line breaks at a seam more or less than as designed.
"""


class Bench:
    """A rig from a head position, ready to be built many times.

    Attributes
    ----------
    errors : Errors
    places : dict
        {kind: tuple of str}: seams, as "A | B", or sides of images.
    design : dict
        {kind: (k,) float64}: the values as designed; of "broken" by how much lines break then.
    slow : frozenset of str
        Kinds that take rays, or many steps for each build.

    Raises
    ------
    ChoiceError
        When no screen of the outside view is before both eyes.
    """

    def __init__(self, assembly: Assembly, head: Head) -> None:
        self._assembly = assembly
        self._eyes = eyes_of(assembly.rig, head)
        outside = assembly.outside_screens
        self._screens = [one for one in outside if in_front(one, self._eyes.rows).all()]
        if not self._screens:
            msg = "at this head position no screen of the outside view is in front of both eyes"
            raise ChoiceError(msg)
        self._pairs = outside_neighbours(assembly, self._eyes)
        self._strips = Strips(assembly, self._eyes, self._pairs)
        self.errors = Errors(assembly, self._screens, self._strips.boards)

        grooved = any(one.lens and one.lens.optic.model == "grooved" for one in self._screens)
        self.slow = frozenset(KINDS if grooved else ("shown",))

        # what the rig is as designed: one build without errors
        self._exact = self.errors.builds(
            np.zeros((1, len(self.errors.groups))), np.zeros(len(GROUPS))
        )
        own = [steps(assembly, pair, self._eyes, self._exact) for pair in self._pairs]
        self._own_steps = {number: step for number, step in enumerate(own) if step is not None}
        self._looked = sorted({fan.pair for fan in self._strips.fans})
        seams = [f"{first.name} | {second.name}" for first, second in self._pairs]
        self.places = {
            "shown": tuple(seams[number] for number in self._looked),
            "lost": tuple(f"{one.name} {side}" for one in self._screens for side in SIDES),
            "broken": tuple(seams[number] for number in self._own_steps),
        }
        self.design = {
            "shown": self._shown(self._exact, 1)[0],
            "lost": self._lost(self._exact)[0],
            "broken": np.array([abs(float(step[0])) for step in self._own_steps.values()]),
        }

    def measured(self, kind: str, drawn: Array, limits: Array) -> Array:
        """Return the values (n, k) of one of `KINDS` at its places, for draws and limits.

        Both are as `Errors.builds` has them.
        """
        builds = self.errors.builds(drawn, limits)
        if kind == "shown":
            return self._shown(builds, len(drawn))
        return self._lost(builds) if kind == "lost" else self._broken(builds)

    def in_the_way(self, kind: str, place: int, drawn: Array, limits: Array) -> str | None:
        """Return the part that shows most at a place, or at whose edge a strip is lost.

        None for a gap between parts, or a broken line.
        """
        if kind == "lost":
            screen = self._screens[place // len(SIDES)]
            return own_part_name(screen.name, "lens" if screen.lens else "bezel")
        if kind == "broken":
            return None
        builds = self.errors.builds(drawn, limits)
        most = self._strips.most_shown(builds, len(drawn))
        pair = self._looked[place]
        widest = [n for n, fan in enumerate(self._strips.fans) if fan.pair == pair]
        return next((most[n] for n in widest if most[n]), None)

    def _shown(self, builds: Builds, count: int) -> Array:
        widths = self._strips.widths(builds, count)
        pairs = np.array([fan.pair for fan in self._strips.fans], np.int64)
        worst = [widths[:, pairs == number].max(axis=1) for number in self._looked]
        return np.array(worst).reshape(len(self._looked), count).T

    def _lost(self, builds: Builds) -> Array:
        lost = []
        for screen in self._screens:
            least = margins(screen, self._eyes.rows[:2], builds).min(axis=2)
            across, up = np.array(screen.display.pixels) / screen.size
            lost.append(-least * [(across, up)[axis] for axis, _ in SIDES.values()])
        return np.concatenate(lost, axis=1)

    def _broken(self, builds: Builds) -> Array:
        found = []
        for number, own in self._own_steps.items():
            step = steps(self._assembly, self._pairs[number], self._eyes, builds)
            assert step is not None
            found.append(np.abs(step - own))
        count = len(next(iter(builds.screens.values())))
        return np.array(found).reshape(len(found), count).T
