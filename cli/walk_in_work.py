"""The work of `walk-in`: rigs in, one page out."""

from pathlib import Path

from seamsight.cli import options
from seamsight.cli.arguments import RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import announced
from seamsight.scene import build
from seamsight.scene.writing import refuse_to_overwrite, write_whole
from seamsight.viewer.live.walk_in import walk_in_page


def write_walk_in(rig_words: RigWords, other: Path | None, out: Path, *, force: bool) -> None:
    """Write a page in which to look around in one rig or two."""
    options.require_ending(out, (".html", ".htm"), "PAGE")
    others = [RigWords(other, rig_words.sets)] if other else []
    rigs = [options.read(words) for words in (rig_words, *others)]
    refuse_to_overwrite(out, force)
    compile_kernels(scene=True)
    with announced("writing the page"):
        page = walk_in_page([build(rig) for rig in rigs])
    write_whole(out, page)
    print(out)
