"""Compiled code, made ready before a command's work begins."""

from seamsight.cli.output import announced
from seamsight.viewer.casting import trace, world


def compile_kernels(*, scene: bool = False) -> None:
    """Make the ray kernels ready, the outside scene's too if asked; say so if it takes long."""
    with announced("preparing the ray tracer (first run only)"):
        trace.warm_up()
        if scene:
            world.warm_up()
