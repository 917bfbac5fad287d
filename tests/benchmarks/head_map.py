"""How long a map of head positions takes, and whether twice as many take twice as long.

Run `python tests/benchmarks/head_map.py` on a machine that does nothing else. With `--short` a few
positions are mapped, to see that it runs; those figures say nothing.
"""

import argparse
import os
import time
from pathlib import Path

import numpy as np

from seamsight.scene import build, read_rig
from seamsight.viewer.casting.trace import warm_up
from seamsight.viewer.studies.sweep import seen_shares

MAIN_RIG = Path(__file__).parents[2] / "sample_rigs" / "harbour_floatplane.toml"
REACH = np.array([150.0, 150.0, 100.0])  # mm about the design eye point
REPEATS = 3


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--short", action="store_true", help="map a few positions, once")
    short = parser.parse_args().short
    count, repeats = (20, 1) if short else (1000, REPEATS)

    warm_up()
    seconds(20)
    print(f"{os.cpu_count()} processors; the best of {repeats}")
    once = min(seconds(count) for _ in range(repeats))
    print(f"{count:,} head positions of the main sample {once:8.2f} s    < 10 s for 1,000")
    twice = min(seconds(2 * count) for _ in range(repeats))
    print(f"twice as many take {twice / once:18.2f} times as long    <= 2.1")


def seconds(heads: int) -> float:
    """Return how long both eyes of so many head positions take, with a rig that is new."""
    assembly = build(read_rig(MAIN_RIG))
    places = (
        assembly.rig.pilot.eye_point + np.random.default_rng(1).uniform(-1, 1, (heads, 3)) * REACH
    )
    pupil = np.array([assembly.rig.pilot.pupil_distance / 2, 0, 0])
    eyes = np.concatenate([places - pupil, places + pupil])
    start = time.perf_counter()
    seen_shares(assembly, eyes)
    return time.perf_counter() - start


if __name__ == "__main__":
    main()
