"""Compiled code: kept where it belongs, compiled anew when it must be, and others' left alone."""

import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
from numba.core.dispatcher import Dispatcher

from seamsight.viewer import casting
from seamsight.viewer.casting import compiling

FOREIGN = """
import numba

@numba.njit(cache=True)
def doubled(value):
    return 2 * value
"""

# A process that takes stock of numba's settings, imports all of ours, casts, and then compiles
# something of its own.
NEIGHBOUR = """
import numba

def settings():
    return {name: getattr(numba.config, name) for name in dir(numba.config) if name.isupper()}

before = settings()
import seamsight.viewer
from seamsight.viewer.casting import trace, world
assert settings() == before
trace.warm_up()
world.warm_up()
assert settings() == before

import foreign
assert foreign.doubled(21) == 42
print(foreign.doubled.stats.cache_path)
"""


def test_others_numba_is_left_as_it_was(tmp_path):
    (tmp_path / "foreign.py").write_text(FOREIGN)
    done = subprocess.run(
        [sys.executable, "-c", NEIGHBOUR], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert Path(done.stdout.strip()) == tmp_path / "__pycache__"
    assert list((tmp_path / "__pycache__").glob("foreign.doubled*.nbi"))


def test_a_user_s_cache_folder_is_respected(tmp_path, monkeypatch):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    words = (
        "from seamsight.viewer.casting import search; print(search.fill_between.stats.cache_path)"
    )
    done = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)
    assert tmp_path in Path(done.stdout.strip()).parents


def compiled_functions():
    modules = [
        import_module(f"{casting.__name__}.{file.stem}")
        for file in Path(casting.__path__[0]).glob("*.py")
    ]
    found = {id(f): f for m in modules for f in vars(m).values() if isinstance(f, Dispatcher)}
    return list(found.values())


@pytest.mark.parametrize("function", compiled_functions(), ids=lambda f: f.py_func.__qualname__)
def test_every_file_with_compiled_code_is_told_by_the_cache_s_folder(function):
    assert Path(function.py_func.__code__.co_filename) in compiling.COMPILED_FILES
    assert Path(function.stats.cache_path).parent.name == compiling._FOLDER
