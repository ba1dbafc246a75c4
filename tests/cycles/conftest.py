"""Tables of check values for the computing over cycles."""

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))  # what the tests of this folder share lies beside them

VECTORS = Path(__file__).parent.parent / "vectors"


@pytest.fixture(scope="session")
def rows_of() -> Callable[[str], list[dict[str, str]]]:
    """Read a table of vectors: source on line one, names on line two, tabs between."""

    def rows(name: str) -> list[dict[str, str]]:
        source, head, *lines = (VECTORS / name).read_text(encoding="utf-8").splitlines()
        assert source.startswith("# Source: ")
        return [dict(zip(head.split("\t"), line.split("\t"), strict=True)) for line in lines]

    return rows
