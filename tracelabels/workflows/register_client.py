"""Register a client: a code stands in the record, everything personal is sealed with the client's own key."""

import re
import secrets
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from tracelabels.custody import CareLevel, Client
from tracelabels.errors import InputError
from tracelabels.workflows.practice import Practice

SIGNS: Final = "23456789CDFGHJKMNPQRTVWX"
"""Letters and digits that are not mistaken for one another, without vowels, so that no code is a word."""
_LENGTH: Final = 6
_CODE: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{1,19}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Personal:
    """What is known of a client as a person; all of it is sealed. None for what was not entered."""

    name: str | None = None
    """Name."""
    birth_date: date | None = None
    """Date of birth."""
    identity_check: str | None = None
    """How identity was checked."""
    hospital_number: str | None = None
    """Number in the hospital's record."""
    surgeon: str | None = None
    """Referring surgeon."""
    allergies: str | None = None
    """Allergies, in words."""
    consent: str | None = None
    """Consent: when it was given and where it is filed."""
    contact: str | None = None
    """How to reach the client."""


def register_client(
    practice: Practice,
    *,
    care_level: CareLevel | None,
    by: str,
    code: str | None = None,
    personal: Personal | None = None,
    random_bytes: Callable[[int], bytes] = secrets.token_bytes,
) -> Client:
    """Record a client.

    Args:
        practice: whose client.
        care_level: routine or protected; None counts as protected at the gate.
        by: opaque staff id of who enters it and sets the care level.
        code: opaque code; None to have one made.
        personal: what is known of the person.
        random_bytes: source of a code that is made.

    Raises:
        InputError: the code could not be written on a list or in a path.
        LedgerError: the code is taken, or was once.
    """
    known = personal or Personal()
    with practice.write(by=by) as ledger:
        client = Client(
            code=_made_code(random_bytes) if code is None else _require_code(code),
            care_level=care_level,
            care_set_by=by if care_level is not None else None,
            name=known.name,
            birth_date=known.birth_date,
            identity_check=known.identity_check,
            hospital_number=known.hospital_number,
            surgeon=known.surgeon,
            allergies=known.allergies,
            consent=known.consent,
            contact=known.contact,
        )
        ledger.record(client)
    return client


def set_care_level(practice: Practice, code: str, care_level: CareLevel, *, reason: str, by: str) -> Client:
    """Put another care level on record, with the reason and who set it.

    Raises:
        LedgerError: there is no such client, or the client was erased, or no reason is given.
    """
    with practice.write(by=by) as ledger:
        recorded = ledger.require(Client, code)
        _require_not_erased(erased=ledger.is_erased(recorded.value.as_name), code=code)
        client = replace(recorded.value, care_level=care_level, care_set_by=by)
        ledger.amend(recorded, client, reason=reason)
    return client


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownClient:
    """A client as on record."""

    client: Client
    """Code, and what is sealed, opened; nothing but the code once erased."""
    is_erased: bool
    """Whether the client was erased."""


def find_client(practice: Practice, code: str) -> Client | None:
    """Return the client with a code; None if there is none."""
    with practice.ledger.read() as ledger:
        found = ledger.find(Client, code)
        return None if found is None else found.value


def show_client(practice: Practice, code: str) -> ShownClient:
    """Return what is on record about a client.

    Raises:
        LedgerError: there is none with this code.
    """
    with practice.ledger.read() as ledger:
        client = ledger.require(Client, code).value
        return ShownClient(client=client, is_erased=ledger.is_erased(client.as_name))


def _made_code(random_bytes: Callable[[int], bytes]) -> str:
    return "C-" + "".join(SIGNS[byte % len(SIGNS)] for byte in random_bytes(_LENGTH))


def _require_code(code: str) -> str:
    if _CODE.fullmatch(code.strip()) is None:
        raise InputError(
            given=f"client code {code!r}",
            expected="2 to 20 letters, digits and hyphens that say nothing of the person",
            remedy="write for example C-14, or leave it out to have one made",
        )
    return code.strip()


def _require_not_erased(*, erased: bool, code: str) -> None:
    if erased:
        raise InputError(
            given=f"client {code}, who was erased",
            expected="a client who is on record",
            remedy="register the person again under a new code",
        )
