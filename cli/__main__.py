"""`python -m seamsight.cli`."""

from seamsight.cli.main import main

main()
