"""Clients: a code stands in the record, everything personal is sealed apart and can be erased."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from tracelabels.custody.names import Kind, Name


class CareLevel(StrEnum):
    """How much evidence a use needs."""

    ROUTINE = "routine"
    PROTECTED = "protected"
    """Immunocompromised, or in an operating theatre."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Client:
    """One client. All but the code is sealed with the client's own key; None once erased, or never entered."""

    code: str
    """Opaque code."""
    care_level: CareLevel | None = None
    """Care level; without one the client counts as protected."""
    care_set_by: str | None = None
    """Opaque staff id of who set it."""
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
    """How to reach the client: telephone, post, mail."""

    @property
    def as_name(self) -> Name:
        """Return its name in the record."""
        return Name(Kind.CLIENT, self.code)

    @property
    def is_protected(self) -> bool:
        """Say whether protected care is asked for; not known counts as protected."""
        return self.care_level is not CareLevel.ROUTINE
