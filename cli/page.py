"""The command `page`; its work is done in `page_work`."""

import importlib
import sys
from typing import Annotated

import typer

from seamsight.cli.arguments import HeadName, RigFile, Sets, WithoutLenses, rig_words

app = typer.Typer()


@app.command(epilog="Example: seamsight page rig.toml --open")
def page(
    rig: RigFile,
    head: HeadName = "design",
    without_lenses: WithoutLenses = False,
    sets: Sets = None,
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="port to serve it at; 0 picks a free one")
    ] = 0,
    opened: Annotated[
        bool, typer.Option("--open/--no-open", help="open the page in your browser")
    ] = False,
) -> None:
    """Serve the live view to a browser on this computer.

    Stop it with Ctrl-C.
    """
    _refuse_without_packages()
    from seamsight.cli.page_work import serve_page

    serve_page(rig_words(rig, sets), head, port, lenses=not without_lenses, opened=opened)


def _refuse_without_packages() -> None:
    """Say what to install where the page's own packages are missing."""
    try:
        for name in ("starlette", "uvicorn", "websockets"):
            importlib.import_module(name)
    except ModuleNotFoundError as error:
        hint = "install them with: pip install -e '.[page]'"
        print(f"the page needs packages not yet installed ({error.name}); {hint}", file=sys.stderr)
        raise typer.Exit(1) from error
