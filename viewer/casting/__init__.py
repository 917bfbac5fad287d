"""Which part each ray ends on: compiled kernels, the ray engine, lenses, the outside scene."""
