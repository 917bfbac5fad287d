"""What can be wrong, as exceptions and as located problems.

SeamsightError
├── RigError (ValueError)      a rig file that cannot be used; carries every Problem found in it
├── FileError (ValueError)     a picture, mesh or stored file that cannot be used; says which
├── ChoiceError (ValueError)   a name that is not there, or a number that is too small or too large
├── PoseError (ValueError)     a head, eye or direction from which nothing can be computed
├── OutputError (OSError)      a file that must not or cannot be written
└── SchedulerError (OSError)   a scheduler that does not answer, or cannot do what it should
"""

from dataclasses import dataclass
from pathlib import Path

MOST_TOLD = 50  # problems of a rig file


class SeamsightError(Exception):
    """Root of every error that Seamsight raises on purpose."""


@dataclass(frozen=True, order=True)
class Problem:
    """One thing wrong with a rig file."""

    line: int
    where: str
    text: str


class RigError(SeamsightError, ValueError):
    """A rig file that cannot be used, with every problem found in it.

    Parameters
    ----------
    file : str
        The file's name as the user wrote it.
    problems : list of Problem
        In the order of their lines; line 0 means the file as a whole.
    """

    def __init__(self, file: str, problems: list[Problem]) -> None:
        self.file = file
        self.problems = sorted(set(problems))
        super().__init__("\n".join(self.lines()))

    def lines(self) -> list[str]:
        """Return one line of text per problem, `file:line: where: what is wrong`.

        They are the first 50; a last line says how many more there are.
        """
        more = len(self.problems) - MOST_TOLD
        return self._told() + ([f"{self.file}: and {more} more"] if more > 0 else [])

    def _told(self) -> list[str]:
        """Return the lines of the problems that are told one by one."""
        return [
            ": ".join(
                part
                for part in (f"{self.file}:{p.line}" if p.line else self.file, p.where, p.text)
                if part
            )
            for p in self.problems[:MOST_TOLD]
        ]


class FileError(SeamsightError, ValueError):
    """A file that is read beside a rig, and cannot be used.

    Parameters
    ----------
    path : Path
    what : str
        What is wrong with it, to be read after its name: "is missing".
    called : str
        What stands before its name, where that does not tell what the file is for.
    """

    def __init__(self, path: Path, what: str, called: str = "") -> None:
        self.path = path
        self.what = what
        super().__init__(f"{called} {path} {what}" if called else f"{path} {what}")


class ChoiceError(SeamsightError, ValueError):
    """A name that is not there, or a number, of things or pixels, too small or too large."""


class PoseError(SeamsightError, ValueError):
    """A head, eye or direction from which nothing can be computed."""


class OutputError(SeamsightError, OSError):
    """A file that must not or cannot be written."""


class SchedulerError(SeamsightError, OSError):
    """A scheduler that does not answer, or whose workers cannot do what they should."""
