"""A photographed label at the chair: read it, find the record, ask the gate.

Label and record are compared on batch, use-by and date prepared with what *that print* recorded. Every reason is
given and the worst decides; what is not known counts against use. Nothing here says that anything is sterile.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

from tracelabels.custody import (
    ClientAtChair,
    Kind,
    Name,
    OpeningCheck,
    Reason,
    ReasonKind,
    SeenLabel,
    Verdict,
    assess,
    client_reasons,
    contents_reasons,
    history_reasons,
    pouring_reasons,
    worst,
)
from tracelabels.errors import PictureError
from tracelabels.records import Reading as LedgerReading
from tracelabels.records.refusals import known as known_thing
from tracelabels.scanning import Picture, Reading, Scan, ScanMode, load_pictures, scan_picture
from tracelabels.workflows.chair_record import ChairReader, KnownThing
from tracelabels.workflows.practice import Practice, require_own_serial


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
    is_frame: bool = False
    """Whether ``page`` counts the frames of a clip."""

    @property
    def stops(self) -> bool:
        """Say whether the user must stop: nothing was read, or a code says stop."""
        return not self.answers or any(one.verdict is Verdict.STOP for one in self.answers)


def read_photograph(source: Path | bytes, *, name: str | None = None, today: date) -> Iterator[PhotoAnswer]:
    """Read any codes in a photograph, without a ledger; yield one answer for each page of the file.

    Of a clip only frames that say something new are answered, or one if none says anything.

    Raises:
        PictureError: the file is broken, too large, or no picture.
    """

    def answer(picture: Picture) -> PhotoAnswer:
        scan = scan_picture(picture, mode=ScanMode.ANY, today=today)
        answers = tuple(Answer(reading=one, known=None, verdict=None, reasons=()) for one in scan.readings)
        return _page_answer(picture, scan, answers)

    return told_once(map(answer, load_pictures(source, name=name)))


def check_photograph(
    practice: Practice,
    source: Path | bytes,
    *,
    name: str | None = None,
    client: str | None = None,
    opening: OpeningCheck | None = None,
) -> Iterator[PhotoAnswer]:
    """Read the practice's own labels in a photograph and answer for each; yield one answer for each page of the file.

    Of a clip only frames that say something new are answered, or one if none says anything.

    Args:
        practice: whose ledger is asked.
        source: the file, or its bytes.
        name: what to call the bytes in sentences.
        client: code of the client; None before it is entered.
        opening: what was seen at opening; None before it is answered.

    Raises:
        PictureError: the file is broken, too large, or no picture.
    """

    def answer(picture: Picture) -> PhotoAnswer:
        scan = scan_picture(picture, mode=ScanMode.OWN, today=practice.today)
        with practice.ledger.read() as ledger:
            answers = _answers(ChairReader(practice, ledger), scan, practice.today, client=client, opening=opening)
        return _page_answer(picture, scan, answers)

    return told_once(map(answer, load_pictures(source, name=name)))


def _page_answer(picture: Picture, scan: Scan, answers: tuple[Answer, ...]) -> PhotoAnswer:
    return PhotoAnswer(page=picture.page, picture=picture, scan=scan, answers=answers, is_frame=picture.is_frame)


def told_once(pages: Iterable[PhotoAnswer]) -> Iterator[PhotoAnswer]:
    """Leave out what an earlier frame of the same clip said in the same words; other pages pass as they are.

    Frames that say nothing new are dropped, their time counted to the frame before. If something was read, places that
    stayed unread in single frames are not told: most are the same label in a blurred frame.
    """
    told: set[object] = set()
    held: PhotoAnswer | None = None
    try:
        for page in pages:
            if not page.is_frame:
                yield page
                continue
            fresh = tuple(one for one in page.answers if _said(one) not in told)
            told.update(_said(one) for one in fresh)
            if held is not None and held.answers and fresh:
                yield held
                held = None
            held = _longer(_only(page, fresh) if fresh else held or page, held if fresh else page)
    except PictureError:
        if held is not None:
            yield held
        raise
    if held is not None:
        yield held


def _said(one: Answer) -> object:
    return one.reading.symbology_identifier, one.reading.text, one.verdict, one.reasons


def _only(page: PhotoAnswer, answers: tuple[Answer, ...]) -> PhotoAnswer:
    readings = tuple(one.reading for one in answers)
    return replace(page, answers=answers, scan=replace(page.scan, readings=readings, unread=(), advice=()))


def _longer(page: PhotoAnswer, other: PhotoAnswer | None) -> PhotoAnswer:
    """Return a page with another frame's time added to its own."""
    if other is None or other is page:
        return page
    elapsed_ms = page.scan.elapsed_ms + other.scan.elapsed_ms
    return replace(page, scan=replace(page.scan, elapsed_ms=elapsed_ms))


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedAnswer:
    """What is said about a serial that was typed, with what was entered from its label."""

    serial: str
    """As typed."""
    known: KnownThing | None
    """What the ledger knows of it as a tube or pouch; None if it knows nothing, or for a bottle."""
    verdict: Verdict
    """Stop, preliminary or go."""
    reasons: tuple[Reason, ...]
    """Everything that speaks against use."""


def check_typed(
    practice: Practice,
    seen: SeenLabel,
    *,
    client: str | None = None,
    opening: OpeningCheck | None = None,
    found_with: tuple[str, ...] = (),
) -> TypedAnswer:
    """Answer for a serial that was typed; no GO until batch, use-by and date prepared are entered from the label.

    Args:
        practice: whose ledger is asked.
        seen: what was typed from the label; a bottle's serial is answered with the bottle's own gate.
        client: code of the client; None before it is entered.
        opening: what was seen at opening; None before it is answered.
        found_with: serials of tubes that were found in the pouch.

    Raises:
        InputError: it is no serial of ours.
    """
    serial = require_own_serial(seen.serial)
    with practice.ledger.read() as ledger:
        reader = ChairReader(practice, ledger)
        entered = reader.client(client)
        if ledger.find_bottle(serial) is not None:
            reasons = bottle_at_chair(reader, ledger, serial, practice, client=entered, at=practice.now())
            return TypedAnswer(serial=serial, known=None, verdict=worst(reasons), reasons=reasons)
        known = reader.know(serial)
        fitness = assess(
            replace(seen, serial=serial),
            known.as_item(),
            today=practice.today,
            client=entered,
            opening=opening,
            found_with=found_with,
        )
    is_known = bool(known.labels) or known.item is not None
    return TypedAnswer(
        serial=serial, known=known if is_known else None, verdict=fitness.verdict, reasons=fitness.reasons
    )


def labels_in(practice: Practice, source: Path | bytes, *, name: str | None = None) -> dict[str, tuple[SeenLabel, ...]]:
    """Return what the practice's own labels in a photograph say, by serial; a tube may bear two of them.

    Raises:
        PictureError: the file is broken, too large, or no picture.
    """
    read: dict[str, dict[SeenLabel, None]] = {}
    for picture in load_pictures(source, name=name):
        for reading in scan_picture(picture, mode=ScanMode.OWN, today=practice.today).readings:
            seen = _seen(reading)
            if seen is not None:
                read.setdefault(seen.serial, {})[seen] = None
    return {serial: tuple(labels) for serial, labels in read.items()}


def bottle_at_chair(
    reader: ChairReader,
    ledger: LedgerReading,
    serial: str,
    practice: Practice,
    *,
    client: ClientAtChair | None,
    at: datetime,
) -> tuple[Reason, ...]:
    """Return every reason against using a bottle directly on a client at a moment.

    What comes straight from a bottle was never processed: for protected care it is refused.
    """
    reasons = (*pouring_against(reader, ledger, serial, practice, at=at), *client_reasons(client))
    if client is None or not client.is_protected:
        return reasons
    sentence = "protected care asks for a processed tube; what comes straight from a bottle was never processed"
    return (*reasons, Reason(kind=ReasonKind.PROTECTED_FROM_BOTTLE, sentence=sentence))


def pouring_against(
    reader: ChairReader, ledger: LedgerReading, serial: str, practice: Practice, *, at: datetime
) -> tuple[Reason, ...]:
    """Return every reason against taking anything out of a bottle at the chair at a moment.

    What happened to the bottle later does not count; a hold that was lifted since does not either.

    Args:
        reader: what the chair knows.
        ledger: where the bottle is on record.
        serial: its serial.
        practice: whose rules count.
        at: when it is poured (UTC); in the past for what is entered late.

    Raises:
        LedgerError: there is no such bottle.
    """
    bottle = known_thing(ledger.find_bottle(serial), what="bottle", name=serial).value
    item = Name(Kind.BOTTLE, serial)
    holds = [one for one in reader.processing.holds_on(item, bottle.product.as_name) if one.at <= at]
    past = [one for one in reader.past(item) if one.at <= at]
    policy, day = practice.settings.policy.as_policy(), practice.day_of(at)
    return (
        *pouring_reasons(bottle.as_of(day), policy, holds, today=day),
        *history_reasons(item, past, client=None, today=day),
    )


def _answers(
    reader: ChairReader, scan: Scan, today: date, *, client: str | None, opening: OpeningCheck | None
) -> tuple[Answer, ...]:
    """Answer for each code; tubes and pouches in one picture have to belong together."""
    seen = [_seen(one) for one in scan.readings]
    known = {one.serial: reader.know(one.serial) for one in seen if one is not None}
    entered = reader.client(client)
    strangers = _strangers(known.values())
    return tuple(
        _answer(reading, label, known, strangers, today=today, client=entered, opening=opening)
        for reading, label in zip(scan.readings, seen, strict=True)
    )


def _seen(reading: Reading) -> SeenLabel | None:
    identity = reading.identification.identity if reading.identification else None
    if identity is None or identity.serial is None:
        return None
    return SeenLabel(serial=identity.serial, lot=identity.lot, use_by=identity.use_by, prepared=identity.prepared)


def _strangers(known: Iterable[KnownThing]) -> dict[str, tuple[Reason, ...]]:
    """Return the reasons against tubes that lie in none of the pouches photographed with them, and their pouch's."""
    things = tuple(known)
    pouches = [one for one in things if one.tube is None and one.pouch is not None]
    held = tuple(serial for one in pouches if one.pouch for serial in one.pouch.tubes)
    tubes = [one.serial for one in things if one.tube is not None]
    if not pouches:
        return {}
    found = {serial: contents_reasons(held, [serial]) for serial in tubes}
    if len(pouches) == 1:
        found[pouches[0].serial] = contents_reasons(held, tubes)
    return found


def _answer(
    reading: Reading,
    seen: SeenLabel | None,
    known: Mapping[str, KnownThing],
    strangers: Mapping[str, tuple[Reason, ...]],
    *,
    today: date,
    client: ClientAtChair | None,
    opening: OpeningCheck | None,
) -> Answer:
    if seen is None:
        reason = Reason(kind=ReasonKind.LABEL_UNKNOWN, sentence="the code carries no serial of this practice")
        return Answer(reading=reading, known=None, verdict=worst([reason]), reasons=(reason,))
    thing = known[seen.serial]
    fitness = assess(seen, thing.as_item(), today=today, client=client, opening=opening)
    reasons = (*strangers.get(seen.serial, ()), *fitness.reasons)
    return Answer(reading=reading, known=thing if thing.labels else None, verdict=worst(reasons), reasons=reasons)
