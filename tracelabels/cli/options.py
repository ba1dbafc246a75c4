"""Options that many commands share, and dates typed by people."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from tracelabels.errors import InputError
from tracelabels.identifiers import find_iso_day

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

    from tracelabels.workflows.practice import Practice

Command = TypeVar("Command", bound=Callable[..., Any])


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
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


def practice_option(command: Command) -> Command:
    """Add --practice and --today."""
    folder = click.option(
        "--practice",
        type=click.Path(path_type=Path, file_okay=False),
        help="The practice's folder (else $TRACELABELS_PRACTICE, else this folder).",
    )
    return folder(today_option(command))


def chosen_today(today: str | None) -> date | None:
    """Return the date given before or after the command's name, or None."""
    before = click.get_current_context().find_object(Chosen)
    text = today if today is not None else (before.today if before else None)
    return parse_day(text, what="--today") if text is not None else None


def chosen_day(today: str | None) -> date:
    """Return the date given before or after the command's name, else the machine's own."""
    return chosen_today(today) or date.today()  # noqa: DTZ011  the machine's own date is meant


def chosen_practice(practice: Path | None) -> Path | None:
    """Return the folder given before or after the command's name, or None."""
    before = click.get_current_context().find_object(Chosen)
    return practice or (before.practice if before else None)


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


AT = click.option("--at", metavar="MOMENT", help='When it happened, if not now ("2026-11-25 14:05", local time).')
REQUEST = click.option("--request", metavar="KEY", help="Names this request: the same key again writes nothing more.")


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


BY = click.option(
    "--by",
    envvar="TRACELABELS_BY",
    default="bench",
    show_default=True,
    help="Your staff code, as it stands in the record.",
)


def bench_options(command: Command) -> Command:
    """Add what every bench command takes: who does it, where, on which day, in which form it answers."""
    return BY(practice_option(as_json(command)))


def opened(practice: Path | None, today: str | None) -> "AbstractContextManager[Practice]":
    """Open the practice that was chosen, on the day that was chosen."""
    from tracelabels.workflows.practice import open_practice

    return open_practice(chosen_practice(practice), today=chosen_today(today))
