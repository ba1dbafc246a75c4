"""Put prepared tubes, or instruments, into pouches; each pouch gets a serial of its own."""

from collections.abc import Sequence
from dataclasses import dataclass

from tracelabels.custody import Pouch, PouchKind
from tracelabels.errors import InputError, LedgerError
from tracelabels.records import Writing
from tracelabels.workflows.practice import Practice, require_own_serial


@dataclass(frozen=True, slots=True, kw_only=True)
class Pouching:
    """What goes into one pouch."""

    tubes: tuple[str, ...] = ()
    """Serials of tubes, as scanned."""
    instruments: tuple[str, ...] = ()
    """Instruments by name."""


def pack_pouches(
    practice: Practice,
    contents: Sequence[Pouching],
    *,
    material_lot: str,
    by: str,
    kind: PouchKind = PouchKind.PAPER_FILM,
) -> tuple[Pouch, ...]:
    """Record pouches, all of them or none.

    Raises:
        InputError: a pouch would be empty, no material lot is given, or a tube is named twice.
        LedgerError: a tube is not on record, or lies in a pouch already.
    """
    _require_sound(contents, material_lot)
    with practice.write(by=by) as ledger:
        for pouching in contents:
            for serial in pouching.tubes:
                _require_free(ledger, serial)
        pouches = tuple(
            Pouch(
                serial=serial,
                kind=kind,
                material_lot=material_lot.strip(),
                sealed_by=by,
                sealed_on=practice.today,
                tubes=pouching.tubes,
                instruments=pouching.instruments,
            )
            for serial, pouching in zip(ledger.next_serials(len(contents)), contents, strict=True)
        )
        for pouch in pouches:
            ledger.add_pouch(pouch)
    return pouches


def one_each(tubes: Sequence[str], *, in_one: int = 1) -> tuple[Pouching, ...]:
    """Divide tubes over pouches, so many in one."""
    tubes = [require_own_serial(serial) for serial in tubes]
    if in_one < 1:
        raise InputError(given=f"{in_one} tubes in a pouch", expected="1 or more", remedy="correct the number")
    return tuple(Pouching(tubes=tuple(tubes[start : start + in_one])) for start in range(0, len(tubes), in_one))


def _require_sound(contents: Sequence[Pouching], material_lot: str) -> None:
    nothing = any(not pouching.tubes and not any(map(str.strip, pouching.instruments)) for pouching in contents)
    if not contents or nothing:
        raise InputError(given="an empty pouch", expected="tubes or instruments in every pouch", remedy="scan them in")
    if not material_lot.strip():
        raise InputError(
            given="no lot of the pouch material",
            expected="the lot as on its box",
            remedy="enter it with --material-lot",
        )
    seen: set[str] = set()
    for serial in (serial for pouching in contents for serial in pouching.tubes):
        if serial in seen:
            raise InputError(given=f"tube {serial} twice", expected="each tube in one pouch", remedy="scan it once")
        seen.add(serial)


def _require_free(ledger: Writing, serial: str) -> None:
    if ledger.find_tube(serial) is None:
        raise LedgerError(
            given=f"tube {serial}", expected="a tube that is on record", remedy="check the serial, or prepare it first"
        )
    before = next(iter(ledger.pouches_with(serial)), None)
    if before is not None:
        raise LedgerError(
            given=f"tube {serial}, which lies in pouch {before.value.serial}",
            expected="a tube that is in no pouch",
            remedy="if it was taken out, it gets a new serial before it is pouched again",
        )
