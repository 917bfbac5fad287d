"""The work of `glare`: what is seen mirrored, as tables and sentences or as JSON."""

from seamsight.cli import options
from seamsight.cli.arguments import RigWords
from seamsight.cli.glare_report import Found, sentences, table
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.output import Progress, print_json
from seamsight.cli.tables import console_of_width, print_table, say
from seamsight.scene import Assembly, PoseError, build
from seamsight.viewer.eye import eyes_of
from seamsight.viewer.light.glare import mirror_images


def print_glare(rig_words: RigWords, names: list[str], *, as_json: bool) -> None:
    """Print what each eye sees mirrored from the heads asked for, or from all."""
    rig = options.read(rig_words)
    heads = [options.head(rig, name) for name in names or rig.heads()]
    assembly = build(rig)

    compile_kernels()
    progress = Progress("head position", len(heads))
    found: list[Found] = []
    for number, head in enumerate(heads, start=1):
        try:
            found.append(Found(head, mirror_images(assembly, eyes_of(rig, head))))
        except PoseError as error:
            if names:
                raise
            found.append(Found(head, [], str(error)))
        progress.reached(number)
    if as_json:
        print_json({"rig": rig.name, "heads": [one.as_json() for one in found]})
    else:
        _print(assembly, found)


def _print(assembly: Assembly, found: list[Found]) -> None:
    console = console_of_width()
    say(console, f"{assembly.rig.name}: what is seen mirrored")
    if not assembly.rig.lamp:
        say(console, "The rig has no [[lamp]], so only screens can be mirrored.")
    matt = [one.name for one in assembly.screens if one.display.surface == "matt"]
    if matt:
        say(console, f"Matt, so without mirror images: {', '.join(matt)}.")

    for one in found:
        if one.images:
            print_table(console, table(one.head, one.images))
        if one.failure:
            say(console, f"{one.head.name}: {one.failure}.")
    nothing = [one.head.name for one in found if not one.images and not one.failure]
    if nothing:
        say(console, f"Nothing is seen mirrored from: {', '.join(nothing)}.")
    for sentence in sentences(found):
        say(console, sentence)
