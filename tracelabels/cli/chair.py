"""At the chair: the gate by hand, pouches opened, tubes filled; what is destroyed and moved."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import answer, say
from tracelabels.cli.bench import amount_in_ml, bottle_part, diluent_part
from tracelabels.cli.chair_options import chair_options, label_options, moment, opening_from, typed_label
from tracelabels.cli.options import bench_options, opened
from tracelabels.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tracelabels.custody import Reason, Verdict
    from tracelabels.workflows.fill_at_chair import Filled

_STOP = 1


@click.command()
@click.argument("serial")
@label_options
@click.option("--with", "found_with", multiple=True, metavar="TUBE", help="A tube found in the pouch; repeat.")
@click.option("--client", metavar="CODE", help="The client's code.")
@click.option("--opened", "seen", metavar="ANSWERS", help="What was seen: indicator=ok,dry=yes,whole=yes (or no).")
@bench_options
@click.pass_context
def gate(
    ctx: click.Context,
    serial: str,
    lot: str | None,
    use_by: str | None,
    prepared: str | None,
    found_with: tuple[str, ...],
    client: str | None,
    seen: str | None,
    by: str,
    practice: Path | None,
    today: str | None,
    as_json: bool,
) -> None:
    """Ask whether the pouch, tube or bottle with a typed SERIAL may be used; records nothing.

    A serial alone gives no GO: enter batch, use-by and date prepared from the label, as far as it states them.
    It never says that anything is sterile. Exit 1: STOP, with every reason.
    """
    from tracelabels.workflows.check_at_chair import check_typed

    del by
    label = typed_label(serial, lot, use_by, prepared)
    with opened(practice, today) as here:
        done = check_typed(here, label, client=client, opening=opening_from(seen), found_with=found_with)
    _tell(done.verdict, done.reasons, {"serial": done.serial}, as_json=as_json)
    ctx.exit(_code(done.verdict))


@click.command(name="open-pouch")
@click.argument("serial")
@label_options
@click.option("--with", "found_with", multiple=True, metavar="TUBE", help="A tube found in the pouch; repeat.")
@click.option("--client", required=True, metavar="CODE", help="The client's code.")
@click.option("--opened", "seen", required=True, metavar="ANSWERS", help="indicator=ok,dry=yes,whole=yes (or no).")
@chair_options
@click.pass_context
def open_pouch(
    ctx: click.Context,
    serial: str,
    lot: str | None,
    use_by: str | None,
    prepared: str | None,
    found_with: tuple[str, ...],
    client: str,
    seen: str,
    at: str | None,
    request: str | None,
    by: str,
    practice: Path | None,
    today: str | None,
    as_json: bool,
) -> None:
    """Record that the pouch with this SERIAL was opened, what was seen, and what the gate says.

    A pouch is opened once: whoever comes second is told who opened it and when. Exit 1: STOP, or opened before.
    """
    from tracelabels.workflows.open_at_chair import PouchInHand, open_at_chair

    answers = opening_from(seen)
    if answers is None:
        raise InputError(given="no answers", expected="what was seen at opening", remedy="add --opened")
    with opened(practice, today) as here:
        hand = PouchInHand(
            seen=typed_label(serial, lot, use_by, prepared),
            client=client,
            opening=answers,
            found_with=found_with,
            at=moment(here, at),
        )
        done = open_at_chair(here, hand, by=by, request_key=request)
    _tell(done.verdict, done.reasons, {"pouch": serial, "recorded": done.opening is not None}, as_json=as_json)
    ctx.exit(_code(done.verdict))


@click.command()
@click.argument("tubes", nargs=-1, required=True, metavar="TUBE...")
@click.option("--from", "sources", multiple=True, required=True, metavar="SERIAL[=ML]", help="A bottle; repeat.")
@click.option("--diluent", multiple=True, metavar="NAME,BATCH[,EXPIRY[,ML]]", help="A diluent that goes in; repeat.")
@click.option("--fill", metavar="ML", help="mL in each tube.")
@click.option("--client", required=True, metavar="CODE", help="The client's code.")
@chair_options
@click.pass_context
def fill(
    ctx: click.Context,
    tubes: tuple[str, ...],
    sources: tuple[str, ...],
    diluent: tuple[str, ...],
    fill: str | None,
    client: str,
    at: str | None,
    request: str | None,
    by: str,
    practice: Path | None,
    today: str | None,
    as_json: bool,
) -> None:
    """Fill empty processed TUBEs from bottles that pass their own gate today; good for this session only.

    Their pouch has to be opened with GO for this client first. Then print the second label (layout tube-filled).
    Exit 1 if the rules refuse it, with every reason; nothing is recorded then.
    """
    from tracelabels.workflows.fill_at_chair import FillOrder, fill_at_chair

    parts = (*map(bottle_part, sources), *map(diluent_part, diluent))
    with opened(practice, today) as here:
        order = FillOrder(
            tubes=tubes, parts=parts, client=client, fill_ml=amount_in_ml(fill, "--fill"), at=moment(here, at)
        )
        done = fill_at_chair(here, order, by=by, request_key=request)
    _tell_filled(done, as_json=as_json)
    ctx.exit(_STOP if done.refused else 0)


@click.command()
@click.argument("serial")
@click.option("--remainder", is_flag=True, help="What was left after use (else all of it, unused).")
@click.option("--how", required=True, help="How, in words.")
@chair_options
def destroy(
    serial: str,
    remainder: bool,
    how: str,
    at: str | None,
    request: str | None,
    by: str,
    practice: Path | None,
    today: str | None,
    as_json: bool,
) -> None:
    """Record that the bottle, tube or pouch with this SERIAL was destroyed, or what was left of it."""
    from tracelabels.custody import Destroyed
    from tracelabels.workflows.destroy_item import DestructionOrder, destroy_item

    with opened(practice, today) as here:
        what = Destroyed.REMAINDER if remainder else Destroyed.WHOLE
        order = DestructionOrder(serial=serial, what=what, how=how, at=moment(here, at))
        done = destroy_item(here, order, by=by, request_key=request)
    say(f"Destroyed {done.item} ({done.what.value}).")
    if as_json:
        answer({"item": str(done.item), "what": done.what.value, "at": done.at.isoformat()})


@click.command()
@click.argument("items", nargs=-1, required=True, metavar="SERIAL...")
@click.option(
    "--to",
    "kind",
    required=True,
    type=click.Choice(["shelf", "room", "theatre", "site", "in_transit", "given_away", "lost"]),
    help="Kind of place; what was lost and is found again is moved to its place.",
)
@click.option("--place", default="", help="Its name at the practice, or to whom it was given.")
@chair_options
def move(
    items: tuple[str, ...],
    kind: str,
    place: str,
    at: str | None,
    request: str | None,
    by: str,
    practice: Path | None,
    today: str | None,
    as_json: bool,
) -> None:
    """Record where things are: bottles, tubes, pouches by SERIAL, lots of consumables as KIND/LOT."""
    from tracelabels.custody import PlaceKind
    from tracelabels.workflows.move_item import MoveOrder, move_items

    with opened(practice, today) as here:
        order = MoveOrder(items=items, kind=PlaceKind(kind), place=place, at=moment(here, at))
        moves = move_items(here, order, by=by, request_key=request)
    for one in moves:
        say(f"{one.item}: {one.kind.value.replace('_', ' ')} {one.place}".rstrip())
        if as_json:
            answer({"item": str(one.item), "kind": one.kind.value, "place": one.place, "at": one.at.isoformat()})


def _tell(verdict: "Verdict", reasons: "Iterable[Reason]", record: dict[str, object], *, as_json: bool) -> None:
    sentences = [reason.sentence for reason in reasons]
    if as_json:
        answer({**record, "verdict": verdict.value, "reasons": sentences})
        return
    click.echo(f"{verdict.value.upper()}  {next(iter(record.values()))}")
    for sentence in sentences:
        click.echo(f"  - {sentence}")


def _tell_filled(done: "Filled", *, as_json: bool) -> None:
    number = done.preparation.number if done.preparation else None
    use_by = done.dating.use_by if done.dating else None
    for reason in done.refused:
        say(f"refused: {reason.sentence}")
    if number is not None:
        say(f"Filled {', '.join(done.tubes)} with preparation {number}; good for this session. Now print tube-filled.")
    if as_json:
        answer(
            {
                "preparation": number,
                "tubes": list(done.tubes),
                "use_by": use_by.date.isoformat() if use_by else None,
                "reasons": [reason.sentence for reason in done.refused],
            }
        )


def _code(verdict: "Verdict") -> int:
    return _STOP if verdict.value == "stop" else 0
