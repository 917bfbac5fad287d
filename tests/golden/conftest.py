"""The option that writes the reference pictures anew: `pytest tests/golden --regenerate`."""

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--regenerate", action="store_true", help="write the reference pictures anew")
