"""Report that something went wrong with a client's health; close it later. While it is open nothing is erased."""

from dataclasses import dataclass, replace
from datetime import date

from tracelabels.custody import AdverseEvent, Client, Name, Use
from tracelabels.errors import InputError
from tracelabels.records import Reading, Series
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.request_keys import answered


@dataclass(frozen=True, slots=True, kw_only=True)
class AdverseReport:
    """What went wrong."""

    client: str
    """Code of the client."""
    onset: date
    """The day it began."""
    what: str
    """What was seen; sealed."""
    report_due: date
    """When a report to an authority is due; local rules decide."""
    uses: tuple[str, ...] | None = None
    """Numbers of the uses it is linked with; None for every use on this client up to its onset."""
    culture: str | None = None
    """What a culture found; sealed."""
    physician: str | None = None
    """Who treats it; sealed."""


def report_adverse_event(
    practice: Practice, report: AdverseReport, *, by: str, request_key: str | None = None
) -> AdverseEvent:
    """Record an adverse event.

    Args:
        practice: whose.
        report: what went wrong.
        by: opaque staff id of who reports.
        request_key: names the request; asked again, it gives the same answer and writes nothing.

    Raises:
        InputError: nothing is said of it, or it began in the future.
        LedgerError: the client or a use is not on record.
    """
    _require_sound(practice, report)
    with practice.write(by=by) as ledger:
        before = answered(
            ledger,
            AdverseEvent,
            request_key,
            is_same=lambda one: (one.client.text, one.onset) == (report.client, report.onset),
        )
        if before is not None:
            return before
        client = ledger.require(Client, report.client).value.as_name
        event = AdverseEvent(
            number=ledger.next_numbered(Series.ADVERSE_EVENT),
            client=client,
            onset=report.onset,
            uses=_uses(practice, ledger, report, client),
            report_due=report.report_due,
            what=report.what.strip(),
            culture=report.culture,
            physician=report.physician,
        )
        ledger.record(event, request_key=request_key)
    return event


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """What became of an adverse event; None for what stays as it is."""

    report_sent: date | None = None
    """The report was sent on this day."""
    closed_on: date | None = None
    """It was closed on this day."""
    culture: str | None = None
    """What a culture found; sealed."""
    physician: str | None = None
    """Who treats it; sealed."""


def follow_adverse_event(practice: Practice, number: str, progress: Progress, *, reason: str, by: str) -> AdverseEvent:
    """Put on record what became of an adverse event: report sent, culture found, closed.

    Raises:
        LedgerError: there is no such event, the client was erased, or no reason is given.
        InputError: a day in the future, or it is closed with its report neither sent nor explained.
    """
    with practice.write(by=by) as ledger:
        recorded = ledger.require(AdverseEvent, number)
        was = recorded.value
        event = replace(
            was,
            report_sent=progress.report_sent or was.report_sent,
            closed_on=progress.closed_on or was.closed_on,
            culture=progress.culture or was.culture,
            physician=progress.physician or was.physician,
        )
        for day in (progress.report_sent, progress.closed_on):
            _require_past(practice, day)
        ledger.amend(recorded, event, reason=reason)
    return event


def _uses(practice: Practice, ledger: Reading, report: AdverseReport, client: Name) -> tuple[Name, ...]:
    if report.uses is not None:
        return tuple(ledger.require(Use, number).value.as_name for number in report.uses)
    found = [one.value for one in ledger.about(Use, "client", client)]
    return tuple(use.as_name for use in found if practice.day_of(use.at) <= report.onset)


def _require_sound(practice: Practice, report: AdverseReport) -> None:
    if not report.what.strip():
        raise InputError(given="an adverse event without a word of it", expected="what was seen", remedy="write it")
    _require_past(practice, report.onset)
    if report.report_due < report.onset:
        raise InputError(
            given=f"a report due on {report.report_due.isoformat()}, before the onset",
            expected="a day on or after the onset",
            remedy="correct the days; local rules say when a report is due",
        )


def _require_past(practice: Practice, day: date | None) -> None:
    if day is not None and day > practice.today:
        raise InputError(
            given=f"{day.isoformat()}, which is still to come",
            expected=f"today ({practice.today.isoformat()}) or a day before",
            remedy="correct the day",
        )
