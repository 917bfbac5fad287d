"""The work of `page`: a rig in, served to this machine's browsers until Ctrl-C."""

import os
import sys
import threading
import webbrowser

import typer

from seamsight.cli import options
from seamsight.cli.arguments import RigWords
from seamsight.cli.kernels import compile_kernels
from seamsight.cli.sheet_work import sheet_of
from seamsight.viewer.live.live_rig import LiveRig
from seamsight.viewer.live.page import LivePage
from seamsight.viewer.live.page_server import address_of, listen, server_of
from seamsight.viewer.live.preview import FileWatch
from seamsight.viewer.live.state import state_at


def serve_page(
    rig_words: RigWords, head_name: str, port: int, *, lenses: bool, opened: bool
) -> None:
    """Serve the page of a rig at a port, 0 for a free one, and open it in a browser if asked."""
    watch = FileWatch(rig_words.file)
    rig = options.read(rig_words)
    start = state_at(options.head(rig, head_name), lenses)
    try:
        listening = listen(port)
    except OSError as error:
        why = os.strerror(error.errno or 0)
        print(f"port {port} is not available ({why}); --port 0 picks a free one", file=sys.stderr)
        raise typer.Exit(1) from error

    try:
        with listening:
            compile_kernels(scene=True)
            taken = listening.getsockname()[1]
            page = LivePage(LiveRig(watch, rig.changes), start, sheet_of)
            server = server_of(page, taken)
            _tell(address_of(taken), opened=opened)
            server.run(sockets=[listening])
    except KeyboardInterrupt:  # the usual end
        return


def _tell(address: str, *, opened: bool) -> None:
    print(address, flush=True)
    print(
        "seamsight: open this address in a browser; stop with Ctrl-C", file=sys.stderr, flush=True
    )
    if opened:
        # some wait for their browser
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
