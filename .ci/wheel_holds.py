"""Refuse a wheel whose samples lack what they need, or that holds what none of them uses.

Its argument is the wheel. It runs where that wheel is installed.
"""

import sys
import zipfile

from seamsight.scene.samples import files_to_start_from, sample_files

FOLDER = "seamsight/sample_rigs/"

found = {n.removeprefix(FOLDER) for n in zipfile.ZipFile(sys.argv[1]).namelist() if FOLDER in n}
samples = sample_files().values()
used = {"__init__.py", "py.typed"} | {rig.name for rig in samples}
used = used.union(*(files_to_start_from(rig) for rig in samples))
if found != used:
    sys.exit(f"the wheel's samples: {found - used} too many, {used - found} missing")
