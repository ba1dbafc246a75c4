"""Decisions about loads, spore tests, and stock kept back."""

from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, answer, refuse, say
from tracelabels.cli.options import AT, REQUEST, Recording, bench_options, find_day, parse_moment, recording_options
from tracelabels.words import in_words, local_minute

if TYPE_CHECKING:
    from tracelabels.workflows.record_spore_test import SporeRead
    from tracelabels.workflows.release_load import Decided


@click.command()
@click.argument("number", metavar="LOAD")
@click.option(
    "--decision", type=click.Choice(("released", "rejected", "quarantine")), default="released", show_default=True
)
@click.option("--second", metavar="CODE", help="Staff code of the second person.")
@click.option("--reason", "reasons", multiple=True, help="Why; needed unless it is released. Repeat.")
@click.option("--except", "excepted", multiple=True, metavar="POUCH", help="Leave a pouch out; repeat.")
@recording_options
def release(
    asked: Recording,
    number: str,
    decision: str,
    second: str | None,
    reasons: tuple[str, ...],
    excepted: tuple[str, ...],
) -> int:
    """Decide about LOAD: release it, reject it, or keep it in quarantine. A release is no statement of sterility."""
    from tracelabels.custody import Decision
    from tracelabels.workflows.release_load import DecisionOrder, decide_load

    with asked.opened() as here:
        order = DecisionOrder(
            decision=Decision(decision),
            second=second,
            reasons=reasons,
            excepted=excepted,
            at=asked.moment(here),
        )
        done = decide_load(here, number, order, by=asked.by, request_key=asked.request)
    return _tell_decided(number, done, as_json=asked.as_json)


def _tell_decided(number: str, done: "Decided", *, as_json: bool) -> int:
    if done.release is None:
        return refuse(f"Release of load {number}", done.refused, as_json=as_json)
    early = ", EARLY: a spore test is still incubating" if done.release.is_early else ""
    say(f"Load {number}: {done.release.decision.value}{early}.")
    for pouch, why in done.left_out:
        say(f"  left out: {pouch.text} ({why})")
    if as_json:
        answer(
            {
                "done": True,
                "load": number,
                "decision": done.release.decision.value,
                "early": done.release.is_early,
                "excepted": [pouch.text for pouch in done.release.excepted],
            }
        )
    return 0


@click.command(name="spore-test")
@click.argument("number", metavar="LOAD")
@click.option("--lot", required=True, help="Lot of the indicator.")
@click.option("--placement", required=True, help="Where it sat in the load.")
@click.option("--expiry", metavar="DATE", help="Last day of use of the lot (else as entered with it).")
@click.option("--hours", type=click.IntRange(1, 336), help="Incubation, if not the practice's usual time.")
@click.option("--without-control", is_flag=True, help="No unprocessed indicator is incubated beside it.")
@click.option("--laboratory", metavar="NAME", help="It is sent to this laboratory.")
@click.option("--sent", metavar="MOMENT", help='When it was sent ("2026-11-25 14:05").')
@click.option("--in-reference-tube", is_flag=True, help="It sat inside a tube of the same fill.")
@REQUEST
@bench_options
def spore_test(
    asked: Recording,
    number: str,
    lot: str,
    placement: str,
    expiry: str | None,
    hours: int | None,
    without_control: bool,
    laboratory: str | None,
    sent: str | None,
    in_reference_tube: bool,
) -> int:
    """Record a spore test (biological indicator, BI) that rides along in LOAD."""
    from tracelabels.workflows.record_spore_test import SporeOrder, start_spore_test

    with asked.opened() as here:
        order = SporeOrder(
            lot=lot,
            placement=placement,
            lot_expiry=find_day(expiry, "--expiry"),
            incubation_hours=hours,
            has_control=not without_control,
            in_reference_tube=in_reference_tube,
            laboratory=laboratory,
            sent_at=parse_moment(sent, here.settings.zone, what="--sent"),
        )
        done = start_spore_test(here, number, order, by=asked.by, request_key=asked.request)
    if done.test is None:
        return refuse(f"Spore test in load {number}", done.refused, as_json=asked.as_json)
    for warning in done.warnings:
        say(f"note: {warning.sentence}")
    due = local_minute(done.test.due_at, here.settings.zone)
    say(f"Spore test {done.test.number} in load {number}; read it from {due}.")
    if asked.as_json:
        answer({"done": True, "spore_test": done.test.number, "load": number, "due_at": done.test.due_at})
    return 0


@click.command(name="spore-read")
@click.argument("number", metavar="TEST")
@click.argument("result", type=click.Choice(("no_growth", "growth", "invalid")))
@click.option("--control", type=click.Choice(("grew", "did_not_grow")), help="Of the control, which saw no steam.")
@click.option("--note", help="Anything else in words.")
@recording_options
def spore_read(asked: Recording, number: str, result: str, control: str | None, note: str | None) -> int:
    """Record what spore TEST showed; growth holds all that it reaches. Invalid: its control did not grow."""
    from tracelabels.custody import SporeResult
    from tracelabels.workflows.record_spore_test import read_spore_test

    with asked.opened() as here:
        done = read_spore_test(
            here,
            number,
            SporeResult(result),
            by=asked.by,
            at=asked.moment(here),
            note=note,
            control_grew=None if control is None else control == "grew",
            request_key=asked.request,
        )
    return _tell_read(number, done, as_json=asked.as_json)


def _tell_read(number: str, done: "SporeRead", *, as_json: bool) -> int:
    held = [one.text for one in done.hold.items] if done.hold else []
    interval = done.interval
    say(f"Spore test {number}: {in_words(done.reading.result)}.")
    if interval is not None:
        say(f"Affected: after {interval.after.name}, until {interval.before.name}.")
    if done.hold is not None:
        say(f"Hold {done.hold.number} on loads {', '.join(held)}; the steriliser is out of service for such cycles.")
        say(f"Who had what: tracelabels recall bi:{number}")
    if as_json:
        answer(
            {
                "spore_test": number,
                "result": done.reading.result.value,
                "after": interval.after.name if interval else None,
                "until": interval.before.name if interval else None,
                "hold": done.hold.number if done.hold else None,
                "loads": held,
            }
        )
    return 0 if interval is None else FINDING


@click.command()
@click.argument("what", nargs=-1, required=True, metavar="WHAT...")
@click.option("--reason", required=True, help="Why it is kept back.")
@recording_options
def hold(asked: Recording, what: tuple[str, ...], reason: str) -> None:
    """Keep WHAT back at once: load:..., pouch:..., lot:MAKER/BATCH, consumable:KIND/LOT, or a bare number."""
    from tracelabels.workflows.hold_stock import find_things, put_hold

    with asked.opened() as here:
        items = find_things(here, what)
        done = put_hold(here, items, by=asked.by, reason=reason, at=asked.moment(here), request_key=asked.request)
    say(f"Hold {done.number} on {', '.join(map(str, done.items))}.")
    if asked.as_json:
        answer({"hold": done.number, "items": [str(one) for one in done.items]})


@click.command()
@click.argument("number", metavar="HOLD")
@click.option("--reason", required=True, help="Why it is lifted.")
@AT
@bench_options
def lift(asked: Recording, number: str, reason: str) -> None:
    """Lift HOLD: what it kept back may be used again, as far as nothing else speaks against it."""
    from tracelabels.workflows.hold_stock import lift_hold

    with asked.opened() as here:
        done = lift_hold(here, number, by=asked.by, reason=reason, at=asked.moment(here))
    say(f"Hold {number} is lifted.")
    if asked.as_json:
        answer({"hold": number, "lifted_at": done.at})
