"""What is asked at the chair: the client, and what was seen at opening. Until both are there, nothing is GO."""

from collections.abc import Sequence
from dataclasses import dataclass

from tracelabels.custody.clients import Client
from tracelabels.custody.reasons import Reason, ReasonKind


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningCheck:
    """What was seen when the pouch was opened."""

    indicator: bool
    """The indicator turned against the pouch lot's own printed reference."""
    dry: bool
    """No moisture inside."""
    whole: bool
    """Not torn, seal closed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClientAtChair:
    """The client that was entered at the chair."""

    code: str
    """As entered."""
    client: Client | None
    """As on record; None if there is none with this code."""
    is_erased: bool = False
    """Erased since."""

    @property
    def is_known(self) -> bool:
        """Say whether it is a client on record who was not erased."""
        return self.client is not None and not self.is_erased

    @property
    def is_protected(self) -> bool:
        """Say whether protected care is asked for; not known counts as protected."""
        return self.client is None or self.is_erased or self.client.is_protected


def client_reasons(client: ClientAtChair | None) -> tuple[Reason, ...]:
    """Return what is wrong with the client that was entered."""
    if client is None:
        return (Reason(kind=ReasonKind.CLIENT_MISSING, sentence="the client is not entered yet"),)
    if client.is_known:
        return ()
    words = "was erased" if client.is_erased else "is not on record"
    return (Reason(kind=ReasonKind.CLIENT_UNKNOWN, sentence=f"client {client.code!r} {words}"),)


def opening_reasons(answers: Sequence[OpeningCheck]) -> tuple[Reason, ...]:
    """Return what is wrong with what was seen at opening; every answer counts, and none is not enough.

    Args:
        answers: what is answered now, and what was recorded when the same pouch was opened.
    """
    if not answers:
        return (Reason(kind=ReasonKind.OPENING_UNCHECKED, sentence="the checks at opening are not answered yet"),)
    asked = (
        (all(one.indicator for one in answers), "the pouch's indicator has not turned"),
        (all(one.dry for one in answers), "the pouch is wet"),
        (all(one.whole for one in answers), "the pouch is torn or open"),
    )
    return tuple(Reason(kind=ReasonKind.OPENING_FAILED, sentence=sentence) for good, sentence in asked if not good)


def contents_reasons(expected: Sequence[str], seen: Sequence[str]) -> tuple[Reason, ...]:
    """Return a reason for each tube that was found with a pouch and is not recorded as lying in it.

    Args:
        expected: serials of the tubes recorded in the pouch.
        seen: serials of the tubes found in it, or photographed with it.
    """
    return tuple(
        Reason(
            kind=ReasonKind.TUBE_NOT_IN_POUCH,
            sentence=f"tube {serial} is not recorded in this pouch, which holds {', '.join(expected) or 'no tube'}",
        )
        for serial in dict.fromkeys(seen)
        if serial not in expected
    )
