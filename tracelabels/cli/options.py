"""Options that many commands share, handed to a command as one value; dates and numbers typed by people."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo
from decimal import Decimal, InvalidOperation
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from tracelabels.errors import InputError
from tracelabels.identifiers import find_iso_day

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

    from tracelabels.workflows.practice import Practice

Command = TypeVar("Command", bound=Callable[..., Any])
Gathered = TypeVar("Gathered")
Code = TypeVar("Code", int, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """What was said before the command's name."""

    practice: Path | None
    """The practice's folder, if named."""
    today: str | None
    """The date to take as today's, if given."""


def as_json(command: Command) -> Command:
    """Add --json: JSON Lines alone on standard output."""
    return click.option(
        "--json", "as_json", is_flag=True, help="JSON Lines on standard output, words on standard error."
    )(command)


def today_option(command: Command) -> Command:
    """Add --today."""
    return click.option("--today", metavar="DATE", help="Take this as today's date (2026-11-25).")(command)


def chosen_today(today: str | None) -> date | None:
    """Return the date given before or after the command's name, or None."""
    before = click.get_current_context().find_object(Before)
    text = today if today is not None else (before.today if before else None)
    return parse_day(text, what="--today") if text is not None else None


def chosen_day(today: str | None) -> date:
    """Return the date given before or after the command's name, else the machine's own."""
    return chosen_today(today) or _machine_day()


def _machine_day() -> date:
    return date.today()  # noqa: DTZ011  the machine's own date is meant


def parse_day(text: str, *, what: str) -> date:
    """Read a date written as 2026-11-25.

    Raises:
        InputError: it is not one.
    """
    day = find_iso_day(text.strip())
    if day is None:
        raise InputError(
            given=f"{what} {text!r}", expected="a date such as 2026-11-25", remedy="write year, month and day"
        )
    return day


def find_day(text: str | None, what: str) -> date | None:
    """Return a day that was typed, if one was."""
    return None if text is None else parse_day(text, what=what)


def parse_moment(text: str | None, zone: tzinfo, *, what: str = "--at") -> datetime | None:
    """Read a moment written as ``2026-11-25 14:05`` in a practice's time zone; None stays None.

    Raises:
        InputError: it is not one, or the clocks were put forward over it.
    """
    if text is None:
        return None
    try:
        local = datetime.strptime(text.strip().replace("T", " "), "%Y-%m-%d %H:%M").replace(tzinfo=zone)
        moment = local.astimezone(UTC)
    except (ValueError, OverflowError):
        moment = None
    if moment is None or moment.astimezone(zone).replace(tzinfo=None) != local.replace(tzinfo=None):
        raise InputError(
            given=f"{what} {text!r}",
            expected='a local time such as "2026-11-25 14:05"',
            remedy="write year, month, day, hours and minutes",
        )
    return moment


def parse_number(text: str, what: str) -> Decimal:
    """Read a number above or equal to zero.

    Raises:
        InputError: it is none.
    """
    try:
        number = Decimal(text.strip())
    except InvalidOperation:
        number = Decimal(-1)
    if not number.is_finite() or not 0 <= number <= 10_000:  # noqa: PLR2004  beyond any chamber, minute or pressure
        raise InputError(given=f"{what} {text!r}", expected="a number such as 3.5", remedy="write it with a point")
    return number


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What every command in a practice is asked with."""

    practice: Path | None
    """The practice's folder, if named."""
    today: date | None
    """The date to take as today's, if given."""
    as_json: bool
    """Whether it answers in JSON Lines."""

    def opened(self) -> "AbstractContextManager[Practice]":
        """Open the practice that was chosen, on the day that was chosen."""
        from tracelabels.workflows.practice import open_practice

        return open_practice(self.practice, today=self.today)

    def day(self) -> date:
        """Return the date that was given, else the machine's own."""
        return self.today or _machine_day()


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording(Asked):
    """What every command that records is asked with."""

    by: str
    """Staff code of who records."""
    at: str | None
    """When it happened, as typed; None for now."""
    request: str | None
    """The request's key."""

    def moment(self, here: "Practice") -> datetime | None:
        """Return when it happened; None for now."""
        return parse_moment(self.at, here.settings.zone)


def practice_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add --practice, --today and --json, and hand them to the command as one value, its first argument."""

    @wraps(command)
    def call(*, practice: Path | None, today: str | None, as_json: bool, **own: Any) -> Any:  # noqa: ANN401  what click read
        before = click.get_current_context().find_object(Before)
        folder = practice or (before.practice if before else None)
        return command(Asked(practice=folder, today=chosen_today(today), as_json=as_json), **own)

    folder = click.option(
        "--practice",
        type=click.Path(path_type=Path, file_okay=False),
        help="The practice's folder (else $TRACELABELS_PRACTICE, else this folder).",
    )
    return folder(today_option(as_json(call)))


BY = click.option(
    "--by",
    envvar="TRACELABELS_BY",
    default="bench",
    show_default=True,
    help="Your staff code, as it stands in the record.",
)
AT = click.option("--at", metavar="MOMENT", help='When it happened, if not now ("2026-11-25 14:05", local time).')
REQUEST = click.option("--request", metavar="KEY", help="Names this request: the same key again writes nothing more.")


def bench_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add --by and what every command in a practice takes, and hand it all to the command as one value."""

    @wraps(command)
    def call(asked: Asked, *, by: str, at: str | None = None, request: str | None = None, **own: Any) -> Any:  # noqa: ANN401
        who = Recording(
            practice=asked.practice, today=asked.today, as_json=asked.as_json, by=by, at=at, request=request
        )
        return command(who, **own)

    return BY(practice_options(call))


def recording_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add when it happened, the request's key, and all that bench commands take."""
    return AT(REQUEST(bench_options(command)))


def gathered(into: type[Gathered]) -> Callable[[Callable[[Recording, Gathered], Code]], Callable[..., Code]]:
    """Hand a command its own options as one value too, whose fields bear their names: where they are handed on."""

    def decorate(command: Callable[[Recording, Gathered], Code]) -> Callable[..., Code]:
        @wraps(command)
        def call(asked: Recording, **values: Any) -> Code:  # noqa: ANN401  what click read
            return command(asked, into(**values))

        return call

    return decorate
