"""What a label's code says, and writing it as compactly as the two modes of identification allow.

With a licensed GS1 company prefix: FNC1, (01), (17), (13), (10), (21). Without: the same syntax without FNC1, limited
to (17), (13), (10) and (21), which claims nothing. Fixed lengths come first so that digits pair up, the serial comes
last, and a separator stands behind the batch when the serial follows: a 4-digit batch and a 9-digit serial of ours
then take 18 codewords of a Data Matrix in the in-house mode and 27 with a GTIN.
"""

import re
from dataclasses import dataclass
from datetime import date
from typing import Final, NoReturn

from tracelabels.errors import IdentifierError
from tracelabels.identifiers.application_identifiers import require_application_identifier
from tracelabels.identifiers.character_sets import CHARACTER_SET_82
from tracelabels.identifiers.check_digits import has_valid_check_digit, is_restricted_circulation
from tracelabels.identifiers.dates import as_yymmdd, resolve_date
from tracelabels.identifiers.digital_link import build_digital_link
from tracelabels.identifiers.elements import GS, Element, IdentifierMode, Payload
from tracelabels.identifiers.lost_separator import hides_serial
from tracelabels.identifiers.values import check_value

GTIN: Final = "01"
USE_BY: Final = "17"
PREPARED: Final = "13"
LOT: Final = "10"
SERIAL: Final = "21"
IN_HOUSE_IDENTIFIERS: Final = frozenset({USE_BY, PREPARED, LOT, SERIAL})
"""All that a text without FNC1 may carry to count as ours."""

_is_lot_or_serial: Final = re.compile("[" + re.escape(CHARACTER_SET_82) + "]{1,20}").fullmatch
_GTIN_LENGTH: Final = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelIdentity:
    """What a label's code says; whatever is None is not in it.

    Attributes:
        gtin: The practice's own GTIN, 14 digits.
        use_by: The last day on which it may be used. A code keeps two digits of the year: it is read back rightly
            from 49 years before to 50 years after the day of reading.
        prepared: The day on which it was prepared.
        lot: The maker's batch of a single pigment, the preparation number of a mix.
        serial: The serial of the tube or pouch.
    """

    gtin: str | None = None
    use_by: date | None = None
    prepared: date | None = None
    lot: str | None = None
    serial: str | None = None


def compose_label(identity: LabelIdentity, mode: IdentifierMode) -> Payload:
    r"""Write what a label's code carries, in canonical order and as few codewords as the syntax allows.

    Args:
        identity: What the code says.
        mode: GS1 or DIGITAL_LINK need a GTIN of the practice's own; IN_HOUSE refuses one.

    Raises:
        IdentifierError: If the GTIN is missing, refused, wrong or for restricted circulation, a batch or serial has
            characters outside GS1's set 82 or more than 20, nothing is to be said, or a batch ends as if a separator
            had been lost in it.

    >>> tube = LabelIdentity(use_by=date(2027, 11, 30), prepared=date(2026, 11, 25), lot="5501", serial="010000175")
    >>> compose_label(tube, IdentifierMode.IN_HOUSE).text
    '1727113013261125105501\x1d21010000175'
    """
    body = _compose_body(identity)
    if mode is IdentifierMode.IN_HOUSE:
        if identity.gtin is not None:
            _refuse_gtin_in_house(identity.gtin)
        if not body:
            _refuse_empty()
        return Payload(text=body, fnc1_first=False, mode=mode)
    gtin = identity.gtin
    if gtin is None or len(gtin) != _GTIN_LENGTH or not has_valid_check_digit(gtin) or is_restricted_circulation(gtin):
        _refuse_gtin(gtin)
    if mode is IdentifierMode.DIGITAL_LINK:
        return Payload(text=build_digital_link(as_elements(identity)), fnc1_first=False, mode=mode)
    return Payload(text=GTIN + gtin + body, fnc1_first=True, mode=mode)


def require_readable(identity: LabelIdentity, *, today: date) -> None:
    """See that the two-digit years of a code, read on this day, mean the very years that it was composed from.

    Raises:
        IdentifierError: If a date lies more than 49 years back or 50 ahead (GS1 General Specifications 7.12).
    """
    for what, day in (("use-by", identity.use_by), ("date prepared", identity.prepared)):
        if day is not None and resolve_date(as_yymmdd(day), today) != day:
            raise IdentifierError(
                given=f"{what} {day.isoformat()}, whose two-digit year would be read as another century",
                expected=f"a year from {today.year - 49} to {today.year + 50}",
                remedy="correct the date, or set a limit so that the label ends earlier",
            )


def as_elements(identity: LabelIdentity) -> tuple[Element, ...]:
    """Return the elements of a label's code in canonical order, unchecked."""
    pairs = (
        (GTIN, identity.gtin),
        (USE_BY, None if identity.use_by is None else as_yymmdd(identity.use_by)),
        (PREPARED, None if identity.prepared is None else as_yymmdd(identity.prepared)),
        (LOT, identity.lot),
        (SERIAL, identity.serial),
    )
    return tuple(Element(ai=ai, value=value) for ai, value in pairs if value is not None)


def _compose_body(identity: LabelIdentity) -> str:
    """Return everything but the GTIN."""
    use_by, prepared, lot, serial = identity.use_by, identity.prepared, identity.lot, identity.serial
    text = "" if use_by is None else USE_BY + as_yymmdd(use_by)
    if prepared is not None:
        text += PREPARED + as_yymmdd(prepared)
    if lot is not None:
        if not _is_lot_or_serial(lot):
            check_value(require_application_identifier(LOT), lot)
        if serial is None:
            _require_clear_end(lot)
            return text + LOT + lot
        text += LOT + lot + GS
    if serial is not None:
        if not _is_lot_or_serial(serial):
            check_value(require_application_identifier(SERIAL), serial)
        text += SERIAL + serial
    return text


def _require_clear_end(lot: str) -> None:
    if hides_serial(lot):
        raise IdentifierError(
            given=f"batch {lot} without a serial",
            expected="a batch that does not end in 21 and a serial of ours, as if a separator had been lost",
            remedy="put the serial on the label too, or use another batch or preparation number",
        )


def _refuse_empty() -> NoReturn:
    raise IdentifierError(
        given="a label that says nothing in its code",
        expected="at least one of use-by, date prepared, batch and serial",
        remedy="fill in the serial at least",
    )


def _refuse_gtin_in_house(gtin: str) -> NoReturn:
    raise IdentifierError(
        given=f"GTIN {gtin[:20]!r} in the in-house mode",
        expected="no GTIN, since an in-house code claims nothing of GS1's",
        remedy="leave the GTIN out, or set the practice's own GS1 company prefix and the mode gs1",
    )


def _refuse_gtin(gtin: str | None) -> NoReturn:
    if gtin is None:
        raise IdentifierError(
            given="a GS1 code without GTIN",
            expected="a GTIN from the practice's own company prefix, which batch, dates and serial need beside them",
            remedy="give the GTIN, or use the mode in_house",
        )
    check_value(require_application_identifier(GTIN), gtin)
    raise IdentifierError(
        given=f"GTIN {gtin}",
        expected="no number for restricted circulation (prefix 02, 04, 20 to 29 or 0000000) behind (01)",
        remedy="use a GTIN from the practice's own company prefix, or the mode in_house",
    )
