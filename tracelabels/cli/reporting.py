"""What should not have happened, and what went wrong: ``tracelabels incident`` and ``tracelabels adverse``."""

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import answer, say
from tracelabels.cli.chair_options import personal_input
from tracelabels.cli.options import REQUEST, Recording, bench_options, find_day, gathered, parse_day, recording_options
from tracelabels.errors import InputError

if TYPE_CHECKING:
    from tracelabels.custody import AdverseEvent
    from tracelabels.workflows.practice import Practice


@click.command()
@click.argument("items", nargs=-1, metavar="[WHAT...]")
@click.option(
    "--kind",
    type=click.Choice(["duplicate_label", "used_against_stop", "used_twice", "used_during_outage", "other"]),
    default="other",
    show_default=True,
    help="What it is; all but 'other' and an outage make the tubes and pouches it is about STOP.",
)
@click.option("--account", help="What happened, in words; sealed where there is a client.")
@click.option("--personal", "from_input", is_flag=True, help='Read {"account": "..."} as JSON on standard input.')
@click.option("--client", metavar="CODE", help="The client it touched.")
@click.option("--use", metavar="NUMBER", help="The use it is about.")
@recording_options
def incident(
    asked: Recording,
    items: tuple[str, ...],
    kind: str,
    account: str | None,
    from_input: bool,
    client: str | None,
    use: str | None,
) -> None:
    """Report an incident about WHAT: a serial, load:NUMBER, consumable:KIND/LOT; never refused, always in recalls."""
    from tracelabels.custody import IncidentKind
    from tracelabels.workflows.report_incident import IncidentReport, named_in, report_incident

    words = personal_input(("account",)).get("account") if from_input else account
    with asked.opened() as here:
        named = named_in(here, items, client=client, use=use)
        report = IncidentReport(
            kind=IncidentKind(kind),
            account=words or "",
            items=named.items,
            client=named.client,
            use=named.use,
            at=asked.moment(here),
        )
        done = report_incident(here, report, by=asked.by, request_key=asked.request)
    say(f"Incident {done.number} is on record.")
    if asked.as_json:
        answer({"incident": done.number, "kind": done.kind.value, "items": [str(item) for item in done.items]})


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """What was typed after ``adverse``."""

    who: str
    """Code of the client, or number of an event on record."""
    onset: str | None
    """The day it began."""
    due: str | None
    """When the report is due."""
    sent: str | None
    """When the report was sent."""
    closed: str | None
    """When it was closed."""
    reason: str | None
    """Why an event on record changes."""
    uses: tuple[str, ...]
    """Numbers of uses."""
    what: str | None
    """What was seen."""
    culture: str | None
    """What a culture found."""
    physician: str | None
    """Who treats it."""
    from_input: bool
    """Personal data come on standard input."""


@click.command()
@click.argument("who", metavar="CLIENT|NUMBER")
@click.option("--onset", metavar="DATE", help="The day it began.")
@click.option("--due", metavar="DATE", help="When a report to an authority is due; local rules decide.")
@click.option("--sent", metavar="DATE", help="The report was sent on this day.")
@click.option("--closed", metavar="DATE", help="It was closed on this day.")
@click.option("--reason", help="Why an event on record changes.")
@click.option("--use", "uses", multiple=True, metavar="NUMBER", help="A use it is linked with (else all up to onset).")
@click.option("--what", help="What was seen; sealed.")
@click.option("--culture", help="What a culture found; sealed.")
@click.option("--physician", help="Who treats it; sealed.")
@click.option("--personal", "from_input", is_flag=True, help="Read what, culture, physician as JSON on standard input.")
@REQUEST
@bench_options
@gathered(Chosen)
def adverse(asked: Recording, chosen: Chosen) -> None:
    """Report that something went wrong with a CLIENT's health, or say what became of the event with this NUMBER.

    To report: --onset, --due and what was seen. Later, by its number: --sent, --culture, --closed, with --reason.
    While it is open, nothing of the client is erased. An event can start a recall.
    """
    given = {"what": chosen.what, "culture": chosen.culture, "physician": chosen.physician}
    sealed = given | (personal_input(tuple(given)) if chosen.from_input else {})
    with asked.opened() as here:
        done = _follow(here, asked, chosen, sealed) if chosen.onset is None else _report(here, asked, chosen, sealed)
    due = done.report_due.isoformat() if done.report_due else "no day"
    say(f"Adverse event {done.number}: report due {due}; {'closed' if done.closed_on else 'open'}.")
    if asked.as_json:
        answer(
            {
                "adverse_event": done.number,
                "uses": [name.text for name in done.uses],
                "report_due": done.report_due,
                "report_sent": done.report_sent,
                "closed_on": done.closed_on,
            }
        )


def _follow(here: "Practice", asked: Recording, chosen: Chosen, sealed: dict[str, str | None]) -> "AdverseEvent":
    from tracelabels.workflows.report_adverse_event import Progress, follow_adverse_event

    progress = Progress(
        report_sent=find_day(chosen.sent, "--sent"),
        closed_on=find_day(chosen.closed, "--closed"),
        culture=sealed["culture"],
        physician=sealed["physician"],
    )
    return follow_adverse_event(here, chosen.who, progress, reason=chosen.reason or "", by=asked.by)


def _report(here: "Practice", asked: Recording, chosen: Chosen, sealed: dict[str, str | None]) -> "AdverseEvent":
    from tracelabels.workflows.report_adverse_event import AdverseReport, report_adverse_event

    report = AdverseReport(
        client=chosen.who,
        onset=parse_day(chosen.onset or "", what="--onset"),
        what=sealed["what"] or "",
        report_due=_due(chosen.due),
        uses=chosen.uses or None,
        culture=sealed["culture"],
        physician=sealed["physician"],
    )
    return report_adverse_event(here, report, by=asked.by, request_key=asked.request)


def _due(text: str | None) -> date:
    if text is None:
        raise InputError(
            given="an adverse event without the day its report is due",
            expected="the day that local rules set",
            remedy="add --due",
        )
    return parse_day(text, what="--due")
