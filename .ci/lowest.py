"""Print the lowest release of each direct dependency that pyproject.toml allows: pip constraints.

A bound must therefore name a release that exists, all its digits that count.
"""

import re
import tomllib
from pathlib import Path

PROJECT = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text("utf-8"))[
    "project"
]
EXTRAS = ("page", "photo", "mp4", "distributed")

for needed in (
    *PROJECT["dependencies"],
    *(n for e in EXTRAS for n in PROJECT["optional-dependencies"][e]),
):
    print(re.sub(r">=([\d.]+)[^;]*", r"==\1", needed))
