"""Which part each ray ends on: the compiled kernels, the ray engine, lenses' bending, the outside scene."""
