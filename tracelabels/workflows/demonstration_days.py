"""The demonstration's days: each is opened at its own date, as staff would come to work."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Final

from tracelabels.workflows.practice import Practice, open_practice

BENCH: Final = "bench"
CHARGE: Final = "charge"
"""Who answers for infection control."""
CHAIR: Final = "chair-1"
OTHER_CHAIR: Final = "chair-2"


@dataclass(frozen=True, slots=True, kw_only=True)
class Days:
    """The days of the story, counted from the first."""

    folder: Path
    """The practice's folder."""
    first: date
    """The first day."""

    @contextmanager
    def day(self, number: int) -> Iterator[Practice]:
        """Open the practice at noon, so many days after the first."""
        with open_practice(self.folder, today=self.first + timedelta(days=number)) as practice:
            yield practice


def at(practice: Practice, hour: int, minute: int = 0) -> datetime:
    """Return a time of the practice's day, in UTC."""
    return datetime.combine(practice.today, time(hour, minute), tzinfo=practice.settings.zone).astimezone(UTC)
