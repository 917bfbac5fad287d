"""The command `views`; its work is done in `views_work`."""

import typer

from seamsight.cli.arguments import AsJson, RigFile, Sets, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight views rig.toml --json")
def views(rig: RigFile, sets: Sets = None, as_json: AsJson = False) -> None:
    """Report the view to enter in a simulator for each screen.

    For every screen of the outside view: off-axis (asymmetric) view with its projection matrix;
    where a simulator has none, the best symmetric view; and one wide view cut over screens side by
    side. The report says how wrong each of these is, all from the design eye point.
    """
    from seamsight.cli.views_work import print_views

    print_views(rig_words(rig, sets), as_json=as_json)
