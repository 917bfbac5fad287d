"""The command that shows the live preview in a browser. Heavy libraries are imported inside, for a quick `--help`."""

import importlib
import os
import sys
import threading
from typing import Annotated

import typer

from seamsight.cli.arguments import HeadName, RigFile, WithoutLenses

app = typer.Typer()


@app.command(epilog="Example: seamsight page rig.toml --open")
def page(
    rig: RigFile,
    head: HeadName = "design",
    without_lenses: WithoutLenses = False,
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="where to serve it; 0 takes a free one")
    ] = 0,
    opened: Annotated[
        bool, typer.Option("--open/--no-open", help="open it in your browser")
    ] = False,
) -> None:
    """Show the live preview as a page in your browser, for this machine only: move the head and see; Ctrl-C ends it."""
    from seamsight.cli import options
    from seamsight.cli.kernels import compile_kernels
    from seamsight.scene import read_rig

    _refuse_without_packages()
    from seamsight.viewer.live.page import LivePage
    from seamsight.viewer.live.page_server import listen, server_of
    from seamsight.viewer.live.preview import FileWatch, Preview
    from seamsight.viewer.live.state import state_at

    watch, loaded = FileWatch(rig), read_rig(rig)
    start = state_at(options.head(loaded, head), lenses=not without_lenses)
    try:
        listening = listen(port)
    except OSError as error:
        print(
            f"port {port} cannot be used ({os.strerror(error.errno or 0)}): --port 0 takes a free one",
            file=sys.stderr,
        )
        raise typer.Exit(1) from error
    try:
        with listening:
            compile_kernels(scene=True)
            server = server_of(
                LivePage(watch, Preview(loaded), start),
                listening.getsockname()[1],
            )
            _tell(listening.getsockname()[1], opened)
            server.run(sockets=[listening])
    except KeyboardInterrupt:  # the usual end
        return


def _refuse_without_packages() -> None:
    try:
        for name in ("starlette", "uvicorn", "websockets"):
            importlib.import_module(name)
    except ModuleNotFoundError as error:
        hint = "install them with: pip install -e '.[page]'"
        print(f"the page needs packages that are not here ({error.name}); {hint}", file=sys.stderr)
        raise typer.Exit(1) from error


def _tell(port: int, opened: bool) -> None:
    address = f"http://127.0.0.1:{port}/"
    print(address, flush=True)
    print("seamsight: open this address in a browser; Ctrl-C ends it", file=sys.stderr, flush=True)
    if opened:
        import webbrowser

        threading.Thread(
            target=webbrowser.open, args=(address,), daemon=True
        ).start()  # some wait for their browser
