"""The command `reach`; its work is done in `reach_work`."""

import typer

from seamsight.cli.arguments import AsJson, HeadName, RigFile, Sets, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight reach rig.toml --set pilot.seat=420")
def reach(
    rig: RigFile, head: HeadName = "design", sets: Sets = None, as_json: AsJson = False
) -> None:
    """Report reach, seat height, refocusing and view over the nose.

    Controls are meshes without a role, free holes of plates and reference points; arms are those
    of 5th to 95th percentile pilots with the eyes at the head position and their backs against the
    seat. The outside view is compared with a guideline for aircraft.
    """
    from seamsight.cli.reach_work import print_reach

    print_reach(rig_words(rig, sets), head, as_json=as_json)
