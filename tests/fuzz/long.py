"""Try many broken rig files, meshes and pictures, each part in a process; tell what is found.

Each try has 20 s, each process 2 GB. What goes wrong is printed, its files are kept. Takes hours:

    nice -n 19 python tests/fuzz/long.py [--tries 100000] [--first 0] [--processes 1]

A few hundred, to see that it all runs:

    python tests/fuzz/long.py --short

Ends with an error when anything went wrong. Limits need a system with signals and resource limits;
on others nothing is tried.
"""

import argparse
import importlib.util
import shutil
import subprocess
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
from mutations import MUTATORS, bytes_changed, look, rig_with, taken, whole_files

from seamsight.scene.samples import sample_files

OF_PART = 500  # tries of a process
SECONDS = 20  # for a try
MEMORY = 2 * 2**30  # bytes of a process
LOOKED_AT = 40  # of so many tries one is measured and drawn, if it is still a rig
FINDINGS = Path(tempfile.gettempdir()) / "seamsight-fuzz"  # where files of what went wrong are kept


class OverTimeError(BaseException):
    """A try that took too long; no program's own handler takes it for its own error."""


def main() -> None:
    """Run parts, print what they found."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--short", action="store_true", help="only a few hundred tries")
    parser.add_argument("--tries", type=int, default=100_000)
    parser.add_argument("--first", type=int, default=0, help="number of the first part, to go on")
    parser.add_argument("--processes", type=int, default=1, help="parts at once")
    parser.add_argument("--part", type=int, help="run this part only, in this process")
    words = parser.parse_args()
    if importlib.util.find_spec("resource") is None:
        print("no limits on this system: nothing is tried")
        return
    if words.part is not None:
        sys.exit(_tried(words.part, 40 if words.short else OF_PART))

    count = 200 // 40 if words.short else -(-words.tries // OF_PART)
    parts = range(words.first, words.first + count)
    start = time.monotonic()
    with ThreadPoolExecutor(words.processes) as threads:
        wrong = sum(threads.map(lambda part: _run(part, short=words.short), parts))
    took = time.monotonic() - start
    print(f"parts {parts.start} to {parts.stop - 1} in {took:.0f} s: {wrong} of them went wrong")
    sys.exit(1 if wrong else 0)


def _run(part: int, *, short: bool) -> bool:
    """Run a part in a process of its own; print what it says, return whether it went wrong."""
    words = [sys.executable, __file__, "--part", str(part), *(["--short"] if short else [])]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    if done.returncode:
        print(f"part {part} ended with {done.returncode}:", flush=True)
        print(done.stdout[-6000:], done.stderr[-3000:], flush=True)
    elif part % 10 == 0:
        print(f"part {part}: {done.stdout.strip()}", flush=True)
    return done.returncode != 0


def _tried(part: int, count: int) -> int:
    """Make a part's tries in this process; return how many went wrong."""
    import resource

    warnings.simplefilter("error", RuntimeWarning)  # a command would print them
    resource.setrlimit(resource.RLIMIT_DATA, (MEMORY, MEMORY))
    files = whole_files()
    samples = list(sample_files().values())
    results: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        for sample in samples:
            for beside in sample.parent.iterdir():
                if beside.suffix in (".stl", ".png"):
                    shutil.copy(beside, folder)
        for number in range(count):
            random = np.random.default_rng([part, number])
            result = _result(random, Path(folder), samples, files)
            results[result] += 1
            if result == "wrong":
                kept = FINDINGS / f"{part}-{number}"
                shutil.copytree(folder, kept, dirs_exist_ok=True)
                print(f"try {number}, kept in {kept}")
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(", ".join(f"{times} {what}" for what, times in results.items()), f"{used} MB")
    return min(results["wrong"], 100)


def _result(
    random: np.random.Generator, folder: Path, samples: list[Path], files: dict[str, bytes]
) -> str:
    """Make one try; return what came of it. What goes wrong is printed."""
    import signal

    def stop(*_: object) -> None:
        raise OverTimeError

    if random.random() < 0.5:
        content = samples[random.integers(len(samples))].read_bytes()
        for _ in range(random.integers(1, 4)):
            text = content.decode("utf-8", "replace")
            broken = MUTATORS[random.integers(len(MUTATORS))](random, text or "x = 1\n[y]\n")
            content = broken if isinstance(broken, bytes) else broken.encode("utf-8", "replace")
    else:
        name = list(files)[random.integers(len(files))]
        (folder / name).write_bytes(bytes_changed(random, files[name]))
        content = rig_with(name).encode()

    signal.signal(signal.SIGALRM, stop)
    signal.alarm(SECONDS)
    try:
        rig = taken(folder / "rig.toml", content)
        if rig and random.integers(LOOKED_AT) == 0:
            look(rig)
    except (Exception, OverTimeError):
        traceback.print_exc(file=sys.stdout)
        return "wrong"
    finally:
        signal.alarm(0)
    return "taken" if rig else "refused"


if __name__ == "__main__":
    main()
