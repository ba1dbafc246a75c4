"""Leave the signed ends of all chains as a file, to be kept where nobody at the practice can change it."""

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from tracelabels.workflows.leave_file import FileKind, leave_file, require_place
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.signing_keys import begin_signing_key, signing_key

if TYPE_CHECKING:
    from tracelabels.records import SignedHead


def signed_heads(practice: Practice) -> "tuple[SignedHead, ...]":
    """Sign the end of every chain as it stands now."""
    from tracelabels.records import sign_head  # noqa: PLC0415  heavy: only who needs the ledger pays for it

    key, now = signing_key(practice), datetime.now(UTC)
    return tuple(sign_head(head, at=now, signing_key=key) for head in practice.ledger.heads())


def export_heads(practice: Practice, out: Path, *, with_new_key: bool = False) -> "tuple[SignedHead, ...]":
    """Leave the signed ends of all chains in a file, and return them.

    Args:
        practice: where.
        out: the file to leave.
        with_new_key: begin a new signing key first, for the earlier one is lost for good.

    Raises:
        InputError: nothing can be left there, or a new key is asked for while one lies here.
        LedgerError: the signing key is lost.
    """
    from tracelabels.records import head_file  # noqa: PLC0415  as above

    require_place(out, FileKind.HEADS)
    if with_new_key:
        begin_signing_key(practice)
    heads = signed_heads(practice)
    leave_file(out, head_file(heads))
    return heads
