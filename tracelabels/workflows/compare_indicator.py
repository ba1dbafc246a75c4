"""A photographed indicator beside its lot's pictures: a help to the eye, kept with the reading, never the decision."""

from tracelabels.custody import Consumable, ConsumableKind, lot_name
from tracelabels.errors import InputError
from tracelabels.records import Reading
from tracelabels.scanning import Compared, Patch, compare_patches, find_patch, find_picture_kind
from tracelabels.workflows.keep_evidence import find_content
from tracelabels.workflows.practice import Practice

_KINDS = (ConsumableKind.INDICATORS, ConsumableKind.POUCH_MATERIAL)


def compare_indicator(practice: Practice, ledger: Reading, content: bytes, *, name: str, lot: str) -> Compared:
    """Compare a photograph of an indicator with the pictures that its lot was entered with.

    The turned one is the practice's own picture, else the lot's printed reference.

    Args:
        practice: whose evidence.
        ledger: an open unit.
        content: the photograph: the indicator in the middle, white paper round it.
        name: its name, for sentences.
        lot: of the indicators, or of the pouch material that bears it.

    Raises:
        InputError: the lot is not on record, or has no pictures to compare with.
        PictureError: the photograph cannot be used.
    """
    value = _require_lot(ledger, lot)
    turned, unturned = value.turned_picture or value.reference_picture, value.unturned_picture
    if turned is None or unturned is None:
        raise InputError(
            given=f"{value.name} without pictures of a turned and an unturned indicator",
            expected="both, entered with the lot",
            remedy="correct the lot, or judge by eye against its printed reference",
        )
    return compare_patches(
        find_patch(content, name=name),
        turned=_patch(practice, ledger, turned),
        unturned=_patch(practice, ledger, unturned),
    )


def require_photograph(content: bytes, *, name: str) -> None:
    """Refuse what is no photograph, before anything is recorded.

    Raises:
        InputError: it is a text, a PDF or something else.
    """
    kind = find_picture_kind(content)
    if kind is None or kind.value == "PDF":
        raise InputError(
            given=f"{name}, which is no photograph", expected="a photograph", remedy="photograph the indicator"
        )


def _require_lot(ledger: Reading, lot: str) -> Consumable:
    found = [ledger.find(Consumable, lot_name(kind, lot).text) for kind in _KINDS]
    value = next((one.value for one in found if one is not None), None)
    if value is None:
        raise InputError(
            given=f"indicator lot {lot!r}, which is not on record",
            expected="a lot of indicators or pouch material",
            remedy="enter it with 'tracelabels consumable', with --turned and --unturned",
        )
    return value


def _patch(practice: Practice, ledger: Reading, digest: str) -> Patch:
    content = find_content(practice, ledger, digest)
    if content is None:
        raise InputError(
            given=f"the lot's picture {digest[:12]}, which is not among the evidence",
            expected="the picture that was kept",
            remedy="run verify, or enter the lot's pictures again",
        )
    return find_patch(content, name=f"picture {digest[:12]}")
