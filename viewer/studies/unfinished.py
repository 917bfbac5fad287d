"""Pieces of long work, kept in a folder until all are there, so that a later run goes on.

Each piece is a file of its own, written whole or not at all. Its name and its content say which
question it belongs to: pieces of another one are never taken for these.
"""

import io
import re
import zipfile
from contextlib import suppress
from pathlib import Path

import numpy as np

from seamsight.scene.errors import OutputError
from seamsight.scene.frames import Array
from seamsight.scene.writing import make_folder, write_whole

_NAME = re.compile(r"([0-9a-f]{16})-([0-9]{5,})\.npz")


class Unfinished:
    """The pieces of one question in a folder.

    Parameters
    ----------
    folder : Path
        Made when the first piece is kept.
    question : str
        16 hexadecimal digits that stand for all that decides the result.
    """

    def __init__(self, folder: Path, question: str) -> None:
        self.folder = folder
        self._question = question

    def piece(self, number: int, shape: tuple[int, ...]) -> Array | None:
        """Return a piece of some shape; None where it is not there or not whole."""
        try:
            stream = io.BytesIO(self._path(number).read_bytes())
            with np.load(stream, allow_pickle=False) as stored:
                question = str(stored["question"])
                values = stored["values"]
        except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
            return None
        is_right = values.shape == shape and values.dtype == np.float64
        return np.asarray(values) if is_right and question == self._name(number) else None

    def has(self, number: int) -> bool:
        """Return whether a file of this piece is there, whole or not."""
        return self._path(number).exists()

    def keep(self, number: int, values: Array) -> None:
        """Store a piece of float64 values.

        Raises
        ------
        OutputError
            When it cannot be written.
        """
        make_folder(self.folder)
        stream = io.BytesIO()
        np.savez(stream, question=np.array(self._name(number)), values=values)
        write_whole(self._path(number), stream.getvalue())

    def has_others(self) -> bool:
        """Return whether pieces of another question are in the folder."""
        return any(not file.name.startswith(self._question) for file in self._files())

    def remove(self) -> None:
        """Remove all pieces, and the folder if nothing else is in it.

        Raises
        ------
        OutputError
            When a piece cannot be removed.
        """
        try:
            for file in self._files():
                file.unlink(missing_ok=True)
        except OSError as error:
            msg = f"{self.folder} cannot be removed ({error.strerror})"
            raise OutputError(msg) from error
        with suppress(OSError):
            self.folder.rmdir()

    def _files(self) -> list[Path]:
        if not self.folder.is_dir():
            return []
        return [file for file in self.folder.iterdir() if _NAME.fullmatch(file.name)]

    def _path(self, number: int) -> Path:
        return self.folder / f"{self._name(number)}.npz"

    def _name(self, number: int) -> str:
        return f"{self._question}-{number:05d}"
