"""Decisions about loads, spore tests, and stock kept back."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, answer, refuse, say
from tracelabels.cli.options import AT, REQUEST, bench_options, opened, parse_day, parse_moment

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
@AT
@REQUEST
@bench_options
def release(
    number: str,
    decision: str,
    second: str | None,
    reasons: tuple[str, ...],
    excepted: tuple[str, ...],
    at: str | None,
    request: str | None,
    by: str,
    practice: Path | None,
    today: str | None,
    as_json: bool,
) -> int:
    """Decide about LOAD: release it, reject it, or keep it in quarantine. A release is no statement of sterility."""
    from tracelabels.custody import Decision
    from tracelabels.workflows.release_load import DecisionOrder, decide_load

    with opened(practice, today) as here:
        order = DecisionOrder(
            decision=Decision(decision),
            second=second,
            reasons=reasons,
            excepted=excepted,
            at=parse_moment(at, here.settings.zone),
        )
        done = decide_load(here, number, order, by=by, request_key=request)
    return _tell_decided(number, done, as_json=as_json)


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
@click.option("--laboratory", is_flag=True, help="It is sent to a laboratory.")
@click.option("--in-reference-tube", is_flag=True, help="It sat inside a tube of the same fill.")
@REQUEST
@bench_options
def spore_test(
    number: str,
    lot: str,
    placement: str,
    expiry: str | None,
    hours: int | None,
    without_control: bool,
    laboratory: bool,
    in_reference_tube: bool,
    request: str | None,
    by: str,
    practice: Path | None,
    today: str | None,
    as_json: bool,
) -> int:
    """Record a spore test (biological indicator, BI) that rides along in LOAD."""
    from tracelabels.workflows.record_spore_test import SporeOrder, start_spore_test

    order = SporeOrder(
        lot=lot,
        placement=placement,
        lot_expiry=parse_day(expiry, what="--expiry") if expiry else None,
        incubation_hours=hours,
        has_control=not without_control,
        by_laboratory=laboratory,
        in_reference_tube=in_reference_tube,
    )
    with opened(practice, today) as here:
        done = start_spore_test(here, number, order, by=by, request_key=request)
    if done.test is None:
        return refuse(f"Spore test in load {number}", done.refused, as_json=as_json)
    say(f"Spore test {done.test.number} in load {number}; read it from {done.test.due_at:%Y-%m-%d %H:%M} UTC.")
    if as_json:
        answer({"done": True, "spore_test": done.test.number, "load": number, "due_at": done.test.due_at.isoformat()})
    return 0


@click.command(name="spore-read")
@click.argument("number", metavar="TEST")
@click.argument("result", type=click.Choice(("no_growth", "growth", "invalid")))
@click.option("--note", help="Anything else in words.")
@AT
@REQUEST
@bench_options
def spore_read(
    number: str,
    result: str,
    note: str | None,
    at: str | None,
    request: str | None,
    by: str,
    practice: Path | None,
    today: str | None,
    as_json: bool,
) -> int:
    """Record what spore TEST showed; growth holds all that it reaches. Invalid: its control did not grow."""
    from tracelabels.custody import SporeResult
    from tracelabels.workflows.record_spore_test import read_spore_test

    with opened(practice, today) as here:
        moment = parse_moment(at, here.settings.zone)
        done = read_spore_test(here, number, SporeResult(result), by=by, at=moment, note=note, request_key=request)
    return _tell_read(number, done, as_json=as_json)


def _tell_read(number: str, done: "SporeRead", *, as_json: bool) -> int:
    held = [one.text for one in done.hold.items] if done.hold else []
    interval = done.interval
    say(f"Spore test {number}: {done.reading.result.value.replace('_', ' ')}.")
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
@AT
@REQUEST
@bench_options
def hold(
    what: tuple[str, ...],
    reason: str,
    at: str | None,
    request: str | None,
    by: str,
    practice: Path | None,
    today: str | None,
    as_json: bool,
) -> None:
    """Keep WHAT back at once: load:..., pouch:..., lot:MAKER/BATCH, consumable:KIND/LOT, or a bare number."""
    from tracelabels.workflows.hold_stock import find_things, put_hold

    with opened(practice, today) as here:
        items = find_things(here, what)
        done = put_hold(here, items, by=by, reason=reason, at=parse_moment(at, here.settings.zone), request_key=request)
    say(f"Hold {done.number} on {', '.join(map(str, done.items))}.")
    if as_json:
        answer({"hold": done.number, "items": [str(one) for one in done.items]})


@click.command()
@click.argument("number", metavar="HOLD")
@click.option("--reason", required=True, help="Why it is lifted.")
@AT
@bench_options
def lift(
    number: str,
    reason: str,
    at: str | None,
    by: str,
    practice: Path | None,
    today: str | None,
    as_json: bool,
) -> None:
    """Lift HOLD: what it kept back may be used again, as far as nothing else speaks against it."""
    from tracelabels.workflows.hold_stock import lift_hold

    with opened(practice, today) as here:
        done = lift_hold(here, number, by=by, reason=reason, at=parse_moment(at, here.settings.zone))
    say(f"Hold {number} is lifted.")
    if as_json:
        answer({"hold": number, "lifted_at": done.at.isoformat()})
