"""One step of the demonstration, as it is told."""

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing that happened."""

    heading: str
    """What was done, in a few words."""
    outcome: tuple[str, ...]
    """What came of it, line by line."""
    files: tuple[Path, ...] = ()
    """What was left behind."""
