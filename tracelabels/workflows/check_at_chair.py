"""A photographed label at the chair: read it, find the record, ask the gate.

Label and record are compared on batch, use-by and date prepared with what *that print* recorded. Every reason is
given and the worst decides; what is not known counts against use. Nothing here says that anything is sterile.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tracelabels.custody import (
    Bottle,
    Dating,
    Fitness,
    KnownItem,
    OpeningCheck,
    Policy,
    Pouch,
    Preparation,
    PrintedLabel,
    Reason,
    ReasonKind,
    SeenLabel,
    Tube,
    Verdict,
    assess,
    date_tube,
    worst,
)
from tracelabels.records import Reading as LedgerReading
from tracelabels.scanning import Picture, Reading, Scan, ScanMode, load_pictures, scan_picture
from tracelabels.workflows.practice import Practice


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownThing:
    """What the ledger knows about the serial on a label."""

    serial: str
    """The serial."""
    labels: tuple[PrintedLabel, ...]
    """Every label printed for it, voided ones too."""
    tube: Tube | None
    """The tube, if it is one."""
    pouch: Pouch | None
    """The pouch, if it is one, or the last pouch that the tube lies in."""
    preparations: tuple[Preparation, ...]
    """What is in it; none for instruments."""
    datings: tuple[Dating, ...]
    """How long each preparation is good, as known today."""

    @property
    def bottles(self) -> tuple[Bottle, ...]:
        """Return the bottles that it came from, each once."""
        found = {bottle.serial: bottle for one in self.preparations for bottle in one.bottles}
        return tuple(found.values())

    @property
    def dating(self) -> Dating:
        """Return every cause and every stop of what is in it."""
        return Dating(
            causes=tuple(cause for one in self.datings for cause in one.causes),
            stops=tuple(stop for one in self.datings for stop in one.stops),
        )

    @property
    def use_by_today(self) -> date | None:
        """Return the last day of use as known today; None if nothing sets one, or a stop leaves it open."""
        use_by = self.dating.use_by
        return use_by.date if use_by else None

    @property
    def single(self) -> Preparation | None:
        """Return the one preparation that is in it; None if there is none, or several."""
        return self.preparations[0] if len(self.preparations) == 1 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What is said about one code that was read."""

    reading: Reading
    """The code."""
    known: KnownThing | None
    """What the ledger knows of it; None if it knows nothing."""
    verdict: Verdict | None
    """Stop, preliminary or go; None without a ledger."""
    reasons: tuple[Reason, ...]
    """Everything that speaks against use."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoAnswer:
    """What is said about one photograph, or one page of a file."""

    page: int
    """Page or frame of the file, from 1."""
    picture: Picture | None
    """The picture as it was read; None where it was let go to save memory."""
    scan: Scan
    """Readings, unread places and advice."""
    answers: tuple[Answer, ...]
    """One for each reading, in reading order."""

    @property
    def stops(self) -> bool:
        """Say whether the user must stop: nothing was read, or a code says stop."""
        return not self.answers or any(one.verdict is Verdict.STOP for one in self.answers)


def read_photograph(source: Path | bytes, *, name: str | None = None, today: date) -> Iterator[PhotoAnswer]:
    """Read any codes in a photograph, without a ledger; yield one answer for each page of the file.

    Raises:
        PictureError: the file is broken, too large, or no picture.
    """
    for picture in load_pictures(source, name=name):
        scan = scan_picture(picture, mode=ScanMode.ANY, today=today)
        answers = tuple(Answer(reading=one, known=None, verdict=None, reasons=()) for one in scan.readings)
        yield PhotoAnswer(page=picture.page, picture=picture, scan=scan, answers=answers)


def check_photograph(
    practice: Practice,
    source: Path | bytes,
    *,
    name: str | None = None,
    client: str | None = None,
    opening: OpeningCheck | None = None,
) -> Iterator[PhotoAnswer]:
    """Read the practice's own labels in a photograph and answer for each; yield one answer for each page of the file.

    Args:
        practice: whose ledger is asked.
        source: the file, or its bytes.
        name: what to call the bytes in sentences.
        client: code of the client; None before it is entered.
        opening: what was seen at opening; None before it is answered.

    Raises:
        PictureError: the file is broken, too large, or no picture.
    """
    for picture in load_pictures(source, name=name):
        scan = scan_picture(picture, mode=ScanMode.OWN, today=practice.today)
        with practice.ledger.read() as ledger:
            policy = practice.settings.policy.as_policy()
            answers = tuple(
                _answer(ledger, policy, one, today=practice.today, client=client, opening=opening)
                for one in scan.readings
            )
        yield PhotoAnswer(page=picture.page, picture=picture, scan=scan, answers=answers)


def _answer(
    ledger: LedgerReading,
    policy: Policy,
    reading: Reading,
    *,
    today: date,
    client: str | None,
    opening: OpeningCheck | None,
) -> Answer:
    identity = reading.identification.identity if reading.identification else None
    if identity is None or identity.serial is None:
        reason = Reason(kind=ReasonKind.LABEL_UNKNOWN, sentence="the code carries no serial of this practice")
        return Answer(reading=reading, known=None, verdict=worst([reason]), reasons=(reason,))
    known = know(ledger, policy, identity.serial)
    seen = SeenLabel(serial=identity.serial, lot=identity.lot, use_by=identity.use_by, prepared=identity.prepared)
    fitness = _fitness(seen, known, today=today, client=client, opening=opening)
    reasons = (*fitness.reasons, *_client_reasons(client))
    return Answer(reading=reading, known=known if known.labels else None, verdict=worst(reasons), reasons=reasons)


def _client_reasons(client: str | None) -> tuple[Reason, ...]:
    """No clients are on record yet; a code that nobody can check is no client."""
    if client is None:
        return ()
    return (Reason(kind=ReasonKind.CLIENT_UNKNOWN, sentence=f"client {client!r} is not on record"),)


def _fitness(
    seen: SeenLabel, known: KnownThing, *, today: date, client: str | None, opening: OpeningCheck | None
) -> Fitness:
    single = known.single
    item = KnownItem(
        labels=known.labels,
        dating=known.dating,
        on_record=known.tube is not None or known.pouch is not None,
        batch=single.label_batch if single else None,
        prepared=single.prepared_on if single else None,
        bottles=known.bottles,
    )
    return assess(seen, item, today=today, client=client, opening=opening)


def know(ledger: LedgerReading, policy: Policy, serial: str) -> KnownThing:
    """Collect what the ledger knows about a serial of a tube or a pouch; nothing is a valid answer."""
    tube, pouch = ledger.find_tube(serial), ledger.find_pouch(serial)
    if tube is not None:
        for recorded in ledger.pouches_with(serial):
            pouch = recorded
    preparations = _preparations(ledger, tube.value if tube else None, pouch.value if pouch else None)
    return KnownThing(
        serial=serial,
        labels=tuple(one.value for one in ledger.labels_with_serial(serial)),
        tube=tube.value if tube else None,
        pouch=pouch.value if pouch else None,
        preparations=preparations,
        datings=tuple(date_tube(one, policy) for one in preparations),
    )


def _preparations(ledger: LedgerReading, tube: Tube | None, pouch: Pouch | None) -> tuple[Preparation, ...]:
    if tube is not None:
        numbers = [tube.preparation]
    else:
        inside = [ledger.find_tube(serial) for serial in pouch.tubes] if pouch else []
        numbers = [one.value.preparation for one in inside if one is not None]
    found = [ledger.find_preparation(number) for number in dict.fromkeys(numbers) if number is not None]
    return tuple(one.value for one in found if one is not None)
