"""Options that all tests share."""

from pathlib import Path

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--rewrite-snapshots", action="store_true", help="write tests/snapshots anew instead of comparing with it"
    )


@pytest.fixture
def matches_snapshot(request: pytest.FixtureRequest):
    """Return a function that compares a text with a file under tests/snapshots, or writes the file anew if asked to."""

    def compare(text: str, name: str) -> None:
        path = Path(__file__).parent / "snapshots" / name
        if request.config.getoption("--rewrite-snapshots"):
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        assert text == path.read_text(encoding="utf-8"), f"{name} differs; look at it, then use --rewrite-snapshots"

    return compare
