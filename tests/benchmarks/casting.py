"""How long Seamsight takes, beside what it rests on and what else could draw the rig.

Run `python tests/benchmarks/casting.py` on a machine that does nothing else. Everything is measured
in this one run: a picture of one eye, the ray engine alone for exactly the same rays, a path tracer
and a rasteriser (both of which take lenses for opaque panes); memory, and whole processes. With
`--short` everything is run once and small, to see that it runs; those figures say nothing.
"""

import argparse
import importlib.util
import os
import statistics
import subprocess
import sys
import sysconfig
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from seamsight.scene import Assembly, build, read_rig
from seamsight.viewer import Projection, eyes_of, head_named, see
from seamsight.viewer.casting import caster
from seamsight.viewer.casting.box_tree import box_tree_of
from seamsight.viewer.casting.caster import Caster
from seamsight.viewer.casting.frustum import view_of
from seamsight.viewer.casting.tracer import tracer_of
from seamsight.viewer.casting.world import paint

RIGS = Path(__file__).parents[2] / "sample_rigs"
MAIN_RIG = RIGS / "harbour_floatplane.toml"
FIELD = 120.0  # degrees; rectilinear, since the others draw nothing else
LOOK_DOWN = -8.0  # degrees, to have the panel and the controls in the picture

Work = Callable[[], object]


@dataclass(frozen=True)
class Extent:
    """How large the picture is, and how often each thing is measured after one run to warm up."""

    width: int
    height: int
    repeats: int
    process_repeats: int
    rigs: tuple[Path, ...]


FULL = Extent(1920, 1080, 9, 3, tuple(sorted(RIGS.glob("*.toml"))))
SHORT = Extent(160, 90, 1, 1, (MAIN_RIG,))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--short", action="store_true", help="run everything once, and small")
    parser.add_argument("--just-draw", action="store_true", help="print the memory of one picture")
    options = parser.parse_args()
    extent = SHORT if options.short else FULL
    if options.just_draw:
        print_memory_of_drawing(extent)
        return
    measure_memory(options.short)
    measure_pictures(extent)
    measure_processes(extent)


def measure_pictures(extent: Extent) -> None:
    assembly, eye, projection = main_view(extent)
    calls = recorded_calls(assembly, eye, projection)
    rays = sum(len(origins) for _, origins, _ in calls)

    def measured(work: Work) -> float:
        return median(work, extent.repeats)

    print(
        f"{extent.width} x {extent.height}, one eye, 1 ray a pixel; "
        f"{len(assembly.triangles):,} triangles; {rays:,} ray segments"
    )
    print(f"{os.cpu_count()} processors; medians of {extent.repeats} after one to warm up\n")
    print(f"{'':44}{'ms':>9}{'x engine':>10}   target")
    engine = measured(lambda: engine_alone(calls))
    row("ray engine alone, same rays and threads", engine, engine)
    thin = measured(lambda: see(assembly, eye, projection))
    row("see: lenses, content, shading", thin, engine, "<= 2.0 x")
    grooved = with_grooves(assembly)
    bent = measured(lambda: see(grooved, eye, projection))
    row("see, the same with grooved lenses", bent, engine, f"<= {3 * thin / engine:.2f} x")
    searched = without_engine(assembly)
    slow = measured(lambda: see(searched, eye, projection))
    row("see, where the engine has no build", slow, engine, f"<= {5 * thin / engine:.2f} x")
    triangles = soup_of(1000 if extent is SHORT else 1_000_000)
    sorting = measured(lambda: box_tree_of(triangles))
    row(f"sorting {len(triangles):,} triangles for that", sorting, engine, "<= 3000 ms")
    painted = measured(lambda: paint_screens(assembly))
    row("outside scene for three screens, 1680 x 1050", painted, engine, "<= 500 ms")
    name = "Mitsuba 3 scalar_rgb, direct, 1 per pixel"
    if importlib.util.find_spec("mitsuba"):
        row(name, measured(path_tracer(assembly, eye, projection)), engine)
    else:
        print(f"{name:44}{'not installed':>19}")
    row("VTK off-screen", measured(rasteriser(assembly, eye, projection)), engine)


def measure_memory(short: bool) -> None:
    # first of all: Linux lets a new process inherit the peak of the one that starts it
    words = [sys.executable, __file__, "--just-draw", *(["--short"] if short else [])]
    megabytes = float(subprocess.run(words, stdout=subprocess.PIPE, text=True, check=True).stdout)
    print(f"{'peak memory of a process that only draws':44}{megabytes:9.0f} MB{'':7}   < 600 MB\n")


def measure_processes(extent: Extent) -> None:
    repeats = extent.process_repeats
    print(f"\n{f'whole processes, medians of {repeats}':44}{'s':>9}{'':10}   target")
    command = str(Path(sysconfig.get_path("scripts")) / "seamsight")
    seconds_row("seamsight --help", process_seconds([command, "--help"], repeats), "< 0.3 s")
    for rig in extent.rigs:
        checked = process_seconds([command, "check", str(rig)], repeats)
        seconds_row(f"seamsight check {rig.stem}", checked, "< 2 s")
    seconds_row("first start: compiling with an empty cache", first_compile_seconds(), "< 15 s")


def main_view(extent: Extent) -> tuple[Assembly, np.ndarray, Projection]:
    """Return the main sample, its left eye and the picture to draw."""
    rig = read_rig(MAIN_RIG)
    projection = Projection("rectilinear", extent.width, extent.height, FIELD, elevation=LOOK_DOWN)
    return build(rig), eyes_of(rig, head_named(rig, "design")).left, projection


def with_grooves(assembly: Assembly) -> Assembly:
    """Return the same rig with real lenses for ideal ones."""
    rig = assembly.rig
    optics = [bank.lens and bank.lens.model_copy(update={"model": "grooved"}) for bank in rig.bank]
    banks = [
        bank.model_copy(update={"lens": optic})
        for bank, optic in zip(rig.bank, optics, strict=True)
    ]
    return build(rig.model_copy(update={"bank": tuple(banks)}))


def without_engine(assembly: Assembly) -> Assembly:
    """Return the same rig, whose rays are sent without the engine."""
    same = build(assembly.rig)
    caster.HAS_ENGINE, before = False, caster.HAS_ENGINE
    try:
        tracer_of(same)
    finally:
        caster.HAS_ENGINE = before
    return same


def soup_of(count: int) -> np.ndarray:
    random = np.random.default_rng(1)
    middles = random.uniform(-1000, 1000, (count, 1, 3))
    return (middles + random.normal(scale=5.0, size=(count, 3, 3))).astype(np.float32)


def paint_screens(assembly: Assembly) -> None:
    rig = assembly.rig
    for screen in assembly.screens:
        if screen.shows == "world":
            view = view_of(screen, np.array(rig.pilot.eye_point))
            assert view is not None
            paint(view, *screen.display.pixels, rig.world)


def recorded_calls(assembly: Assembly, eye: np.ndarray, projection: Projection) -> list[tuple]:
    """Return every call that a picture makes of the ray engine: caster, origins, directions."""
    calls = []
    first_faces = Caster.first_faces

    def recording(self, origins, directions, stride=1, lines=1):
        calls.append((self, origins.copy(), directions.copy()))
        return first_faces(self, origins, directions, stride, lines)

    Caster.first_faces = recording
    try:
        see(assembly, eye, projection)
    finally:
        Caster.first_faces = first_faces
    return calls


def engine_alone(calls: list[tuple]) -> None:
    for _ in _threads.map(lambda call: call[0].first_faces(*call[1:]), calls):
        pass


_threads = ThreadPoolExecutor(os.cpu_count())


def path_tracer(assembly: Assembly, eye: np.ndarray, projection: Projection) -> Work:
    """Return what draws the same triangles with Mitsuba 3."""
    import mitsuba
    import trimesh

    mitsuba.set_variant("scalar_rgb")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "rig.ply"
        trimesh.Trimesh(**soup(assembly), process=False).export(path)
        camera = mitsuba.ScalarTransform4f().look_at(
            list(eye), list(eye + ahead(projection)), [0, 0, 1]
        )
        film = {
            "type": "hdrfilm",
            "width": projection.width,
            "height": projection.height,
            "rfilter": {"type": "box"},
        }
        loaded = mitsuba.load_dict(
            {
                "type": "scene",
                "integrator": {"type": "direct"},
                "sensor": {"type": "perspective", "fov": FIELD, "to_world": camera, "film": film},
                "rig": {"type": "ply", "filename": str(path), "face_normals": True},
                "light": {"type": "constant"},
            }
        )
    return lambda: np.array(mitsuba.render(loaded, spp=1))


def rasteriser(assembly: Assembly, eye: np.ndarray, projection: Projection) -> Work:
    """Return what draws the same triangles with VTK and reads the picture back."""
    import pyvista

    mesh = soup(assembly)
    size = [projection.width, projection.height]
    plotter = pyvista.Plotter(off_screen=True, window_size=size)
    plotter.add_mesh(pyvista.PolyData.from_regular_faces(mesh["vertices"], mesh["faces"]))
    plotter.camera_position = [tuple(eye), tuple(eye + ahead(projection)), (0, 0, 1)]
    plotter.camera.view_angle = np.degrees(
        2 * np.arctan(np.tan(np.radians(FIELD / 2)) * size[1] / size[0])
    )
    plotter.camera.clipping_range = (1, 10_000)

    def draw() -> object:
        plotter.render()
        return plotter.screenshot(return_img=True)

    return draw


def soup(assembly: Assembly) -> dict[str, np.ndarray]:
    corners = assembly.triangles.reshape(-1, 3)
    return {"vertices": corners, "faces": np.arange(len(corners)).reshape(-1, 3)}


def ahead(projection: Projection) -> np.ndarray:
    return projection.axes[:, 1]


def print_memory_of_drawing(extent: Extent) -> None:
    import resource

    see(*main_view(extent))
    unit = 2**20 if sys.platform == "darwin" else 2**10
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit)


def first_compile_seconds() -> float:
    code = "from seamsight.viewer.casting.trace import warm_up; warm_up()"
    with tempfile.TemporaryDirectory() as folder:
        cache = {"NUMBA_CACHE_DIR": folder}
        return process_seconds([sys.executable, "-c", code], 1, warm=False, environment=cache)


def process_seconds(
    words: list[str], repeats: int, warm: bool = True, environment: dict[str, str] | None = None
) -> float:
    whole = os.environ | (environment or {})

    def run() -> None:
        subprocess.run(words, stdout=subprocess.DEVNULL, check=True, env=whole)

    return median(run, repeats, warm)


def median(work: Work, repeats: int, warm: bool = True) -> float:
    """Return the median of several runs, s."""
    if warm:
        work()
    taken = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def row(name: str, seconds: float, engine: float, target: str = "") -> None:
    print(f"{name:44}{1000 * seconds:9.0f}{seconds / engine:10.2f}   {target}")


def seconds_row(name: str, seconds: float, target: str) -> None:
    print(f"{name:44}{seconds:9.2f}{'':10}   {target}")


if __name__ == "__main__":
    main()
