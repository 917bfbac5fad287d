"""Pages to walk in that entries have: which of them the log's page holds, and their text.

The log's page is one file that needs nothing else, so it holds them as text, which costs a browser
next to nothing until its reader opens one. It then runs in a frame of its own, sandboxed: whoever
changed it in a log that was passed on reaches neither the log's page nor the web, whose policy
holds in the frame too. The frame's document is a `srcdoc`, since one out of a blob of a page opened
from a file is not trusted with the way a phone is tilted.
"""

from collections.abc import Sequence

from seamsight.scene.errors import FileError
from seamsight.viewer.log.store import WALK_IN, Entry

MOST_HELD = 32 * 10**6  # bytes of all; a browser opens a page of that size in a second or two


def held_walk_ins(entries: Sequence[Entry]) -> set[str]:
    """Return the names of entries whose pages to walk in the log's page has room for.

    The newest come first; an older one is held where it still fits.
    """
    held = set()
    room = MOST_HELD
    for entry in reversed(entries):
        if not entry.has(WALK_IN):
            continue
        size = (entry.folder / WALK_IN).stat().st_size
        if size <= room:
            held.add(entry.name)
            room -= size
    return held


def walk_in_text(entry: Entry) -> str:
    """Return an entry's page to walk in, HTML.

    Raises
    ------
    FileError
        When it cannot be read.
    """
    file = entry.folder / WALK_IN
    try:
        return file.read_text("utf-8", "replace")
    except OSError as error:
        raise FileError(file, f"cannot be read ({error.strerror})") from error
