"""``tracelabels use``: everything that was used on a client in one session."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, answer, say
from tracelabels.cli.chair_options import label_options, opening_from, personal_input, typed_label
from tracelabels.cli.options import Recording, gathered, recording_options
from tracelabels.errors import InputError
from tracelabels.words import in_words

if TYPE_CHECKING:
    from tracelabels.custody import SeenLabel
    from tracelabels.workflows.practice import Practice
    from tracelabels.workflows.use_gate import UsedItem
    from tracelabels.workflows.use_on_client import Photographed, UseDone

_SEALED = ("procedure", "body_site", "side")


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """What was typed after the command's name."""

    client: str
    """Code of the client."""
    serials: tuple[str, ...]
    """Serials of what was used."""
    photo: Path | None
    """Photograph of the labels."""
    lot: str | None
    """Batch, as typed from the label."""
    use_by: str | None
    """Use-by, as typed from the label."""
    prepared: str | None
    """Date prepared, as typed from the label."""
    consumables: tuple[str, ...]
    """Lots, as ``kind/lot``."""
    seen: str | None
    """The answers at opening."""
    happened: str | None
    """An account of what happened all the same."""
    outage: bool
    """The system was down."""
    practitioner: str | None
    """Staff code of who used it."""
    procedure: str | None
    """What was done."""
    body_site: str | None
    """Where on the body."""
    side: str | None
    """Which side."""
    from_input: bool
    """Personal data come on standard input."""


@click.command()
@click.argument("client")
@click.argument("serials", nargs=-1, metavar="[SERIAL...]")
@click.option("--photo", type=click.Path(path_type=Path, dir_okay=False), help="Photograph of the labels; kept.")
@label_options
@click.option("--consumable", "consumables", multiple=True, metavar="KIND/LOT", help="needle_cartridges/NC-1; repeat.")
@click.option("--opened", "seen", metavar="ANSWERS", help="What was seen: indicator=ok,dry=yes,whole=yes (or no).")
@click.option("--happened", metavar="ACCOUNT", help="It happened whatever the gate says: recorded with an incident.")
@click.option("--outage", is_flag=True, help="The system was down then, as --at says too: an incident.")
@click.option("--practitioner", metavar="CODE", help="Staff code of who used it (else --by).")
@click.option("--procedure", help="What was done; sealed.")
@click.option("--site", "body_site", help="Where on the body; sealed.")
@click.option("--side", help="left, right, both, middle; sealed.")
@click.option("--personal", "from_input", is_flag=True, help="Procedure, body_site, side: JSON on standard input.")
@recording_options
@gathered(Chosen)
def use(asked: Recording, chosen: Chosen) -> int:
    """Record everything used on CLIENT in this session: pouches, tubes, bottles used directly (by SERIAL), lots.

    A tube brings its pouch with it, a pouch its filled tubes. Without SERIALs, everything in the photograph was used.
    The gate is asked again; against STOP nothing is recorded (exit 1), unless --happened says that it was used all
    the same. --at with an earlier time enters what was used while the system was down. What is personal does not have
    to stand in the shell's history: give it as JSON on standard input with --personal.
    """
    from tracelabels.workflows.use_gate import Together
    from tracelabels.workflows.use_on_client import UseOrder, use_on_client

    given = {"procedure": chosen.procedure, "body_site": chosen.body_site, "side": chosen.side}
    sealed = given | (personal_input(_SEALED) if chosen.from_input else {})
    with asked.opened() as here:
        kept = _photographed(chosen.photo)
        label = _typed(chosen.serials, chosen.lot, chosen.use_by, chosen.prepared)
        together = Together(
            client=chosen.client,
            items=_items(here, chosen.serials, kept, label),
            consumables=chosen.consumables,
            opening=opening_from(chosen.seen),
        )
        order = UseOrder(
            together=together,
            happened=chosen.happened,
            is_outage=chosen.outage or asked.at is not None,
            at=asked.moment(here),
            practitioner=chosen.practitioner,
            photograph=kept,
            procedure=sealed["procedure"],
            body_site=sealed["body_site"],
            side=sealed["side"],
        )
        done = use_on_client(here, order, by=asked.by, request_key=asked.request)
    _tell_use(done, as_json=asked.as_json)
    return 0 if done.use is not None else FINDING


def _typed(serials: tuple[str, ...], lot: str | None, use_by: str | None, prepared: str | None) -> "SeenLabel | None":
    """Return what was typed from the one label that it can be typed from."""
    if lot is None and use_by is None and prepared is None:
        return None
    if len(serials) != 1:
        raise InputError(
            given=f"--lot, --use-by or --prepared for {len(serials)} serials",
            expected="one serial, whose label they were typed from",
            remedy="record each opening with 'tracelabels open-pouch' first, or photograph the labels",
        )
    return typed_label(serials[0], lot, use_by, prepared)


def _items(
    here: "Practice", serials: tuple[str, ...], photo: "Photographed | None", label: "SeenLabel | None"
) -> "tuple[UsedItem, ...]":
    """Return what was used, each with what its label says: typed, or read in the photograph."""
    from tracelabels.workflows.check_at_chair import labels_in
    from tracelabels.workflows.use_gate import UsedItem

    read = {} if photo is None else labels_in(here, photo.content, name=photo.name)
    if label is not None:
        read = {**read, label.serial: (label,)}
    named = [one.replace(" ", "") for one in serials] or list(read)
    return tuple(UsedItem(serial=one, seen=read.get(one, ())) for one in named)


def _photographed(photo: Path | None) -> "Photographed | None":
    from tracelabels.workflows.keep_evidence import read_file
    from tracelabels.workflows.use_on_client import Photographed

    return None if photo is None else Photographed(content=read_file(photo), name=photo.name)


def _tell_use(done: "UseDone", *, as_json: bool) -> None:
    if done.use is None:
        say("refused; nothing was recorded. If it was used all the same, say so with --happened.")
    else:
        say(f"Use {done.use.number} is on record: {', '.join(map(str, done.use.items))}.")
    for reason in done.reasons:
        say(f"  - {reason.sentence}")
    for incident in done.incidents:
        say(f"Incident {incident.number}: {in_words(incident.kind)}.")
    if as_json:
        answer(
            {
                "use": done.use.number if done.use else None,
                "items": [str(item) for item in done.use.items] if done.use else [],
                "verdict": done.verdict.value if done.verdict else None,
                "reasons": [reason.sentence for reason in done.reasons],
                "incidents": [{"incident": one.number, "kind": one.kind.value} for one in done.incidents],
            }
        )
