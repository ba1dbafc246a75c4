"""Staff: a code stands in the record, name and initials stand apart and can be erased."""

from tracelabels.custody import Kind, Name
from tracelabels.errors import InputError
from tracelabels.workflows.plain_reasons import require_plain
from tracelabels.workflows.practice import Practice, require_staff_code


def enter_staff(practice: Practice, code: str, *, name: str | None, initials: str | None, by: str) -> str:
    """Record a member of staff and return the code.

    Args:
        practice: the practice.
        code: opaque code; it stays for good and is never given to anybody else.
        name: name, if it shall be on record.
        initials: initials for labels.
        by: opaque staff id of who records.

    Raises:
        InputError: the code looks like a name, or begins with it.
        LedgerError: the code is taken.
    """
    from tracelabels.records import StaffMember  # noqa: PLC0415  heavy: only who needs the ledger

    code = require_staff_code(code.strip())
    words = (name or "").casefold().split()
    if any(len(word) > 2 and word in code.casefold() for word in words):  # noqa: PLR2004  "Li" may stand in any code
        raise InputError(
            given=f"staff code {code!r}, in which the name stands",
            expected="a code that says nothing about the person, for it is never erased",
            remedy="choose another, such as staff-3",
        )
    with practice.write(by=by) as ledger:
        ledger.add_staff(StaffMember(code=code, name=name, initials=initials))
    return code


def erase_staff(practice: Practice, code: str, *, by: str, reason: str) -> str:
    """Erase name and initials of a member of staff, in every version, and return the code.

    Raises:
        InputError: the reason says what is personal.
        LedgerError: no such member, erased before, or no reason is given.
    """
    with practice.ledger.read() as ledger:
        thing = ledger.require_thing(Name(Kind.STAFF, code.strip()))
        require_plain(reason, *(said for said in (ledger.said(one.id) for one in ledger.history(thing)) if said))
    practice.ledger.erase(thing, by=require_staff_code(by), reason=reason)
    return code.strip()
