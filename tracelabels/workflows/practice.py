"""A practice: its folder, its settings, its ledger, its clock. Every other workflow is handed one."""

import os
import re
import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tracelabels.errors import InputError
from tracelabels.identifiers import is_serial
from tracelabels.settings import FILE_NAME, Settings, load_settings
from tracelabels.words import local_minute

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

    from tracelabels.records import Ledger, Writing

ENVIRONMENT: Final = "TRACELABELS_PRACTICE"
LEDGER_FILE: Final = "ledger.sqlite"
KEY_FILE: Final = "ledger.key"
"""The practice's key where the database lies on a server; beside an SQLite file the ledger keeps its own."""
EVIDENCE: Final = "evidence"
PRINTED: Final = "printed"
_STAFF_CODE: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,23}")
OWN_TEMPLATES: Final = "templates"


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """Where the work happens."""

    folder: Path
    """Holds practice.toml, the ledger, ``evidence/``, ``printed/`` and the practice's own ``templates/``."""
    settings: Settings
    """What practice.toml says."""
    ledger: "Ledger"
    """The open ledger."""
    now: Callable[[], datetime]
    """When things happen, in UTC; the ledger notes by itself when they are recorded."""

    def write(self, *, by: str, at: datetime | None = None) -> "AbstractContextManager[Writing]":
        """Give one unit of writing: recorded at the machine's time, happened at the practice's day.

        Args:
            by: opaque staff id.
            at: when it happened (UTC), for what is entered late; None for now.

        Raises:
            InputError: the id looks like no code; a name must not stand in the chain, where nothing is ever erased.
        """
        return self.ledger.write(by=require_staff_code(by), happened_at=at or self.now())

    def when(self, at: datetime | None) -> datetime:
        """Return when something happened: the moment given, else now.

        Raises:
            InputError: the moment lies on a day after today.
        """
        if at is not None and self.day_of(at) > self.today:
            raise InputError(
                given=f"{local_minute(at, self.settings.zone)}, which is still to come",
                expected=f"today ({self.today.isoformat()}) or a day before",
                remedy="correct the time",
            )
        return at or self.now()

    def require_after(self, moment: datetime, earliest: datetime, *, what: str, follows: str) -> None:
        """Refuse what is said to have happened before that which it follows on.

        Args:
            moment: when it is said to have happened (UTC).
            earliest: when that happened which it follows on (UTC).
            what: the one, in words.
            follows: the other.

        Raises:
            InputError: it would have happened before.
        """
        if moment < earliest:
            zone = self.settings.zone
            raise InputError(
                given=f"{what} at {local_minute(moment, zone)}",
                expected=f"a time after {follows} ({local_minute(earliest, zone)})",
                remedy="correct the time",
            )

    @property
    def today(self) -> date:
        """Return today's date in the practice's time zone."""
        return self.day_of(self.now())

    def day_of(self, moment: datetime) -> date:
        """Return the day of a moment in the practice's time zone: its session."""
        return moment.astimezone(self.settings.zone).date()


def practice_folder(named: Path | None) -> Path:
    """Return the practice's folder: the one named, else ``$TRACELABELS_PRACTICE``, else the current folder."""
    return named or Path(os.environ.get(ENVIRONMENT) or ".")


def is_named(named: Path | None) -> bool:
    """Say whether a folder was named, by option or by ``$TRACELABELS_PRACTICE``."""
    return named is not None or bool(os.environ.get(ENVIRONMENT))


def clock_for(today: date | None, settings: Settings) -> Callable[[], datetime]:
    """Return a clock in UTC; with a given date it runs on that date, at noon in the practice's zone."""
    if today is None:
        return lambda: datetime.now(UTC)
    try:
        noon = datetime.combine(today, time(12), tzinfo=settings.zone).astimezone(UTC)
    except OverflowError as problem:
        raise InputError(
            given=f"the day {today.isoformat()}", expected="a day within the calendar", remedy="choose another day"
        ) from problem
    return lambda: noon


@contextmanager
def open_practice(named: Path | None, *, today: date | None) -> Iterator[Practice]:
    """Open a practice's folder and its ledger.

    Args:
        named: the folder; None as :func:`practice_folder` says.
        today: the date to take as today's; None for the machine's.

    Raises:
        SettingsError: no practice lives there, or its settings are wrong.
        LedgerError: the ledger cannot be opened.
    """
    from tracelabels.records import open_ledger, read_or_make_key  # noqa: PLC0415  heavy: only who needs the ledger pays for it

    folder = practice_folder(named)
    settings = load_settings(folder / FILE_NAME)
    clock = clock_for(today, settings)
    url = settings.database.url
    key = read_or_make_key(folder / KEY_FILE, random_bytes=secrets.token_bytes) if url else None
    location, site = url or folder / LEDGER_FILE, settings.practice.site
    with open_ledger(location, site=site, clock=lambda: datetime.now(UTC), key=key) as ledger:
        yield Practice(folder=folder, settings=settings, ledger=ledger, now=clock)


@contextmanager
def open_practice_here(named: Path | None, *, today: date | None) -> "Iterator[Practice | None]":
    """Open the practice that lives here, or give None where none does and none was named."""
    if is_named(named) or (practice_folder(named) / FILE_NAME).exists():
        with open_practice(named, today=today) as practice:
            yield practice
    else:
        yield None


def require_staff_code(text: str) -> str:
    """Return a staff code, if it looks like one.

    Raises:
        InputError: it has blanks or more than a code needs; most often somebody typed a name.
    """
    if not _STAFF_CODE.fullmatch(text):
        raise InputError(
            given=f"staff code {text!r}",
            expected="up to 24 letters, digits, hyphens, dots or underscores, and no name",
            remedy="use a code; who bears it is entered with 'tracelabels staff' and can be erased",
        )
    return text


def require_own_serial(text: str) -> str:
    """Return a serial that was typed or scanned, if its check digit holds.

    Raises:
        InputError: it is no serial of ours; most often a digit was mistyped.
    """
    serial = text.strip().replace(" ", "")
    if not is_serial(serial):
        raise InputError(
            given=f"serial {text!r}",
            expected="nine digits whose last one is their check digit",
            remedy="type it again from the label",
        )
    return serial
