"""At the chair: the gate by hand, pouches opened, tubes filled; what is destroyed and moved."""

from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, answer, say
from tracelabels.cli.bench import amount_in_ml, bottle_part, diluent_part
from tracelabels.cli.chair_options import label_options, opening_from, typed_label
from tracelabels.cli.options import Recording, bench_options, recording_options
from tracelabels.errors import InputError
from tracelabels.words import in_words

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tracelabels.custody import Reason, Verdict
    from tracelabels.workflows.fill_at_chair import Filled


@click.command()
@click.argument("serial")
@label_options
@click.option("--with", "found_with", multiple=True, metavar="TUBE", help="A tube found in the pouch; repeat.")
@click.option("--client", metavar="CODE", help="The client's code.")
@click.option("--opened", "seen", metavar="ANSWERS", help="What was seen: indicator=ok,dry=yes,whole=yes (or no).")
@bench_options
def gate(
    asked: Recording,
    serial: str,
    lot: str | None,
    use_by: str | None,
    prepared: str | None,
    found_with: tuple[str, ...],
    client: str | None,
    seen: str | None,
) -> int:
    """Ask whether the pouch, tube or bottle with a typed SERIAL may be used; records nothing.

    A serial alone gives no GO: enter batch, use-by and date prepared from the label, as far as it states them.
    It never says that anything is sterile. Exit 1: STOP, with every reason.
    """
    from tracelabels.workflows.check_at_chair import check_typed

    label = typed_label(serial, lot, use_by, prepared)
    with asked.opened() as here:
        done = check_typed(here, label, client=client, opening=opening_from(seen), found_with=found_with)
    _tell(done.verdict, done.reasons, {"serial": done.serial}, as_json=asked.as_json)
    return _code(done.verdict)


@click.command(name="open-pouch")
@click.argument("serial")
@label_options
@click.option("--with", "found_with", multiple=True, metavar="TUBE", help="A tube found in the pouch; repeat.")
@click.option("--client", required=True, metavar="CODE", help="The client's code.")
@click.option("--opened", "seen", required=True, metavar="ANSWERS", help="indicator=ok,dry=yes,whole=yes (or no).")
@recording_options
def open_pouch(
    asked: Recording,
    serial: str,
    lot: str | None,
    use_by: str | None,
    prepared: str | None,
    found_with: tuple[str, ...],
    client: str,
    seen: str,
) -> int:
    """Record that the pouch with this SERIAL was opened, what was seen, and what the gate says.

    A pouch is opened once: whoever comes second is told who opened it and when. Exit 1: STOP, or opened before.
    """
    from tracelabels.workflows.open_at_chair import PouchInHand, open_at_chair

    answers = opening_from(seen)
    if answers is None:
        raise InputError(given="no answers", expected="what was seen at opening", remedy="add --opened")
    with asked.opened() as here:
        hand = PouchInHand(
            seen=typed_label(serial, lot, use_by, prepared),
            client=client,
            opening=answers,
            found_with=found_with,
            at=asked.moment(here),
        )
        done = open_at_chair(here, hand, by=asked.by, request_key=asked.request)
    _tell(done.verdict, done.reasons, {"pouch": serial, "recorded": done.opening is not None}, as_json=asked.as_json)
    return _code(done.verdict)


@click.command()
@click.argument("tubes", nargs=-1, required=True, metavar="TUBE...")
@click.option("--from", "sources", multiple=True, required=True, metavar="SERIAL[=ML]", help="A bottle; repeat.")
@click.option("--diluent", multiple=True, metavar="NAME,BATCH[,EXPIRY[,ML]]", help="A diluent that goes in; repeat.")
@click.option("--fill", metavar="ML", help="mL in each tube.")
@click.option("--client", required=True, metavar="CODE", help="The client's code.")
@recording_options
def fill(
    asked: Recording,
    tubes: tuple[str, ...],
    sources: tuple[str, ...],
    diluent: tuple[str, ...],
    fill: str | None,
    client: str,
) -> int:
    """Fill empty processed TUBEs from bottles that pass their own gate today; good for this session only.

    Their pouch has to be opened with GO for this client first. Then print the second label (layout tube-filled).
    Exit 1 if the rules refuse it, with every reason; nothing is recorded then.
    """
    from tracelabels.workflows.fill_at_chair import FillOrder, fill_at_chair

    parts = (*map(bottle_part, sources), *map(diluent_part, diluent))
    with asked.opened() as here:
        order = FillOrder(
            tubes=tubes, parts=parts, client=client, fill_ml=amount_in_ml(fill, "--fill"), at=asked.moment(here)
        )
        done = fill_at_chair(here, order, by=asked.by, request_key=asked.request)
    _tell_filled(done, as_json=asked.as_json)
    return FINDING if done.refused else 0


@click.command()
@click.argument("serial")
@click.option("--remainder", is_flag=True, help="What was left after use (else all of it, unused).")
@click.option("--how", required=True, help="How, in words.")
@recording_options
def destroy(asked: Recording, serial: str, remainder: bool, how: str) -> None:
    """Record that the bottle, tube or pouch with this SERIAL was destroyed, or what was left of it."""
    from tracelabels.custody import Destroyed
    from tracelabels.workflows.destroy_item import DestructionOrder, destroy_item

    with asked.opened() as here:
        what = Destroyed.REMAINDER if remainder else Destroyed.WHOLE
        order = DestructionOrder(serial=serial, what=what, how=how, at=asked.moment(here))
        done = destroy_item(here, order, by=asked.by, request_key=asked.request)
    say(f"Destroyed {done.item} ({done.what.value}).")
    if asked.as_json:
        answer({"item": str(done.item), "what": done.what.value, "at": done.at})


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
@recording_options
def move(asked: Recording, items: tuple[str, ...], kind: str, place: str) -> None:
    """Record where things are: bottles, tubes, pouches by SERIAL, lots of consumables as KIND/LOT."""
    from tracelabels.custody import PlaceKind
    from tracelabels.workflows.move_item import MoveOrder, move_items

    with asked.opened() as here:
        order = MoveOrder(items=items, kind=PlaceKind(kind), place=place, at=asked.moment(here))
        moves = move_items(here, order, by=asked.by, request_key=asked.request)
    for one in moves:
        say(f"{one.item}: {in_words(one.kind)} {one.place}".rstrip())
        if asked.as_json:
            answer({"item": str(one.item), "kind": one.kind.value, "place": one.place, "at": one.at})


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
                "use_by": use_by.date if use_by else None,
                "reasons": [reason.sentence for reason in done.refused],
            }
        )


def _code(verdict: "Verdict") -> int:
    return FINDING if verdict.value == "stop" else 0
