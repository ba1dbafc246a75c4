"""The demonstration's chairs: clients, pouches photographed and opened, uses, and what is refused."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from tracelabels.custody import CareLevel, OpeningCheck, SeenLabel
from tracelabels.words import in_words
from tracelabels.workflows.demonstration_days import CHAIR, OTHER_CHAIR
from tracelabels.workflows.demonstration_photographs import photograph_pouch
from tracelabels.workflows.demonstration_step import Step
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.print_run import PrintDone
from tracelabels.workflows.register_client import Personal, register_client
from tracelabels.workflows.use_gate import Together, UsedItem
from tracelabels.workflows.use_on_client import UseDone, UseOrder, use_on_client

SOUND: Final = OpeningCheck(indicator=True, dry=True, whole=True)
PROTECTED, ROUTINE, THIRD = "C-0412", "C-0387", "C-0533"
_PEOPLE: Final = {
    PROTECTED: (CareLevel.PROTECTED, Personal(name="Client One (invented)", contact="by telephone, 555 0101")),
    ROUTINE: (CareLevel.ROUTINE, Personal(name="Client Two (invented)", contact="by post")),
    THIRD: (CareLevel.ROUTINE, Personal(name="Client Three (invented)", contact="by post")),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Pouched:
    """Pouches with their printed labels."""

    serials: tuple[str, ...]
    """Serials, in the order of the run."""
    run: PrintDone
    """The run of their labels."""


def register(practice: Practice) -> Step:
    """Register the clients."""
    for code, (care_level, personal) in _PEOPLE.items():
        register_client(practice, code=code, care_level=care_level, personal=personal, by=CHAIR)
    levels = (f"{code}: {level.value} care" for code, (level, _) in _PEOPLE.items())
    return Step(
        heading="Three clients are registered; names and contacts are sealed, each with a key of its own",
        outcome=tuple(levels),
    )


def photograph(practice: Practice, pouched: Pouched, index: int, name: str, heading: str, client: str | None) -> Step:
    """Photograph one pouch's label (simulated) and say what the gate says, with client and opening answered."""
    opening = SOUND if client else None
    return photograph_pouch(practice, pouched.run, index, name=name, heading=heading, client=client, opening=opening)


def use(practice: Practice, serial: str, client: str, *, by: str = CHAIR, happened: str | None = None) -> UseDone:
    """Use a pouch on a client, as its label says."""
    order = UseOrder(
        together=Together(
            client=client, items=(UsedItem(serial=serial, seen=(_seen(practice, serial),)),), opening=SOUND
        ),
        happened=happened,
        procedure="areola, second session",
        body_site="breast",
        side="left",
    )
    return use_on_client(practice, order, by=by)


def used(heading: str, done: UseDone) -> Step:
    """Tell a use, or what speaks against it."""
    return Step(heading=heading, outcome=tuple(_used_lines(done)))


def _used_lines(done: UseDone) -> Iterator[str]:
    if done.use is None:
        yield "not recorded as a use:"
    else:
        yield f"use {done.use.number} on {done.use.client}: " + ", ".join(map(str, done.use.items))
    yield from (f"  - {reason.sentence}" for reason in done.reasons)
    yield from (f"incident {one.number}: {in_words(one.kind)}" for one in done.incidents)


def first_use(practice: Practice, pouched: Pouched, mixed: Pouched) -> Iterator[Step]:
    """A use with GO, the same pouch at another chair, and a pouch of the mix."""
    pouch = pouched.serials[5]
    yield photograph(
        practice, pouched, 5, "go", f"a pouch for {PROTECTED}: protected care, opened and sound", PROTECTED
    )
    yield used(f"It is used on {PROTECTED}", use(practice, pouch, PROTECTED))
    second = use(practice, pouch, ROUTINE, by=OTHER_CHAIR)
    yield used(f"Another chair asks for the same pouch, for {ROUTINE}", second)
    third = use(practice, mixed.serials[0], ROUTINE, by=OTHER_CHAIR)
    yield used(f"A pouch of the mix is used on {ROUTINE}", third)


def in_haste(practice: Practice, serial: str) -> Step:
    """What really happened is recorded: a pouch whose indicator had not turned was used."""
    done = use(practice, serial, THIRD, happened="taken from the wrong shelf, noticed afterwards")
    return used(
        f"The pouch whose indicator had not turned was used on {THIRD} all the same: recorded, not hidden", done
    )


def _seen(practice: Practice, serial: str) -> SeenLabel:
    """Return what the valid label of a serial says, as a scan would."""
    with practice.ledger.read() as ledger:
        label = next(one.value for one in reversed(ledger.labels_with_serial(serial)) if one.value.voided_by is None)
    return SeenLabel(serial=serial, lot=label.lot, use_by=label.use_by, prepared=label.prepared)


def later(practice: Practice, pouched: Pouched) -> Step:
    """A pouch is taken out long after."""
    return photograph(
        practice, pouched, 9, "expired", f"a pouch that nobody used, a hundred days later, for {PROTECTED}", PROTECTED
    )
