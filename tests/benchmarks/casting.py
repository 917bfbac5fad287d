"""How long Seamsight takes, beside what it rests on and what else could draw the rig.

Run `python tests/benchmarks/casting.py` on a machine that does nothing else. Everything is measured in this one run:
a picture of one eye, the ray engine alone for exactly the same rays, a path tracer and a rasteriser (both of which take
lenses for opaque panes); memory, and whole processes.
"""

import os
import statistics
import subprocess
import sys
import sysconfig
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np

from seamsight.scene import Assembly, build, read_rig
from seamsight.viewer import Projection, eyes_of, head_named, see
from seamsight.viewer.casting.caster import Caster
from seamsight.viewer.casting.world import paint, shown_on

RIGS = Path(__file__).parents[2] / "sample_rigs"
MAIN_RIG = RIGS / "harbour_floatplane.toml"
WIDTH, HEIGHT, FIELD = 1920, 1080, 120.0  # rectilinear, since the others draw nothing else
REPEATS = 9
PROCESS_REPEATS = 3
LOOK_DOWN = -8.0  # degrees, to have the panel and the controls in the picture
JUST_DRAW = "--just-draw"  # for the process whose memory is measured

Work = Callable[[], object]


def main() -> None:
    if JUST_DRAW in sys.argv:
        print_memory_of_drawing()
        return
    measure_memory()
    measure_pictures()
    measure_processes()


def measure_pictures() -> None:
    assembly, eye, projection = scene()
    segments = recorded_segments(assembly, eye, projection)
    rays = sum(len(origins) for _, origins, _ in segments)
    print(
        f"{WIDTH} x {HEIGHT}, one eye, 1 ray a pixel; {len(assembly.triangles):,} triangles; {rays:,} ray segments"
    )
    print(f"{os.cpu_count()} processors; medians of {REPEATS} after one to warm up\n")
    print(f"{'':44}{'ms':>9}{'x engine':>10}   target")
    engine = median(lambda: engine_alone(segments))
    row("ray engine alone, same rays and threads", engine, engine)
    thin = median(lambda: see(assembly, eye, projection))
    row("see: lenses, content, shading", thin, engine, "<= 2.0 x")
    grooved = with_grooves(assembly)
    row(
        "see, the same with grooved lenses",
        median(lambda: see(grooved, eye, projection)),
        engine,
        f"<= {3 * thin / engine:.2f} x",
    )
    row(
        "outside scene for three screens, 1680 x 1050",
        median(lambda: paint_screens(assembly)),
        engine,
        "<= 500 ms",
    )
    for name, prepare in (
        ("Mitsuba 3 scalar_rgb, direct, 1 per pixel", path_tracer),
        ("VTK off-screen", rasteriser),
    ):
        try:
            work = prepare(assembly, eye, projection)
        except ImportError as error:
            print(f"{name:44}{'not installed':>19}   ({error.name})")
        else:
            row(name, median(work), engine)


def measure_memory() -> None:
    # first of all: Linux lets a new process inherit the peak of the one that starts it
    words = [sys.executable, __file__, JUST_DRAW]
    megabytes = float(subprocess.run(words, capture_output=True, text=True, check=True).stdout)
    print(f"{'peak memory of a process that only draws':44}{megabytes:9.0f} MB{'':7}   < 600 MB\n")


def measure_processes() -> None:
    print(f"\n{f'whole processes, medians of {PROCESS_REPEATS}':44}{'s':>9}{'':10}   target")
    command = str(Path(sysconfig.get_path("scripts")) / "seamsight")
    seconds_row("seamsight --help", process_seconds([command, "--help"]), "< 0.3 s")
    for rig in sorted(RIGS.glob("*.toml")):
        seconds_row(
            f"seamsight check {rig.stem}", process_seconds([command, "check", str(rig)]), "< 2 s"
        )
    seconds_row("first start: compiling with an empty cache", first_compile_seconds(), "< 15 s")


def scene() -> tuple[Assembly, np.ndarray, Projection]:
    """Return the main sample, its left eye and the picture to draw."""
    rig = read_rig(MAIN_RIG)
    projection = Projection("rectilinear", WIDTH, HEIGHT, FIELD, elevation=LOOK_DOWN)
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


def paint_screens(assembly: Assembly) -> None:
    paint.cache_clear()
    for screen in assembly.screens:
        if screen.shows == "world":
            shown_on(screen, assembly.rig)


def recorded_segments(assembly: Assembly, eye: np.ndarray, projection: Projection) -> list[tuple]:
    """Return every call that a picture makes of the ray engine: caster, origins, directions."""
    calls = []
    first_faces = Caster.first_faces

    def recording(self, origins, directions):
        calls.append((self, origins.copy(), directions.copy()))
        return first_faces(self, origins, directions)

    Caster.first_faces = recording
    try:
        see(assembly, eye, projection)
    finally:
        Caster.first_faces = first_faces
    return calls


def engine_alone(segments: list[tuple]) -> None:
    for _ in _threads.map(lambda call: call[0].first_faces(*call[1:]), segments):
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
        film = {"type": "hdrfilm", "width": WIDTH, "height": HEIGHT, "rfilter": {"type": "box"}}
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
    plotter = pyvista.Plotter(off_screen=True, window_size=(WIDTH, HEIGHT))
    plotter.add_mesh(pyvista.PolyData.from_regular_faces(mesh["vertices"], mesh["faces"]))
    plotter.camera_position = [tuple(eye), tuple(eye + ahead(projection)), (0, 0, 1)]
    plotter.camera.view_angle = np.degrees(
        2 * np.arctan(np.tan(np.radians(FIELD / 2)) * HEIGHT / WIDTH)
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


def print_memory_of_drawing() -> None:
    import resource

    see(*scene())
    unit = 2**20 if sys.platform == "darwin" else 2**10
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit)


def first_compile_seconds() -> float:
    code = "from seamsight.viewer.casting.trace import warm_up; warm_up()"
    with tempfile.TemporaryDirectory() as folder:
        return process_seconds(
            [sys.executable, "-c", code], repeats=1, env=os.environ | {"NUMBA_CACHE_DIR": folder}
        )


def process_seconds(
    words: list[str], repeats: int = PROCESS_REPEATS, env: dict[str, str] | None = None
) -> float:
    return median(
        lambda: subprocess.run(words, capture_output=True, check=True, env=env),
        repeats,
        warm=repeats > 1,
    )


def median(work: Work, repeats: int = REPEATS, warm: bool = True) -> float:
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
