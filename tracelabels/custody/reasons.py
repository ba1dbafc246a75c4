"""Reasons why a thing may not be used, and how heavy each is."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from tracelabels.custody.names import Name


class Verdict(StrEnum):
    """The answer at the chair."""

    GO = "go"
    PRELIMINARY = "preliminary"
    """Nothing against it so far, but checks are still to be made."""
    STOP = "stop"


class ReasonKind(StrEnum):
    """What speaks against use."""

    LABEL_UNKNOWN = "label_unknown"
    LABEL_DIFFERS = "label_differs"
    LABEL_VOIDED = "label_voided"
    LABEL_SUPERSEDED = "label_superseded"
    LABEL_OUTDATED = "label_outdated"
    NOT_ON_RECORD = "not_on_record"
    LABEL_INCOMPLETE = "label_incomplete"
    PAST_USE_BY = "past_use_by"
    NO_EXPIRY = "no_expiry"
    OPENING_UNKNOWN = "opening_unknown"
    WITHDRAWN = "withdrawn"
    FINISHED = "finished"
    NOT_RELEASED = "not_released"
    ALREADY_OPENED = "already_opened"
    CARRIER_REFUSED = "carrier_refused"
    NO_MAKER_STATEMENT = "no_maker_statement"
    NO_LIQUID_CYCLE = "no_liquid_cycle"
    CLIENT_MISSING = "client_missing"
    CLIENT_UNKNOWN = "client_unknown"
    OPENING_UNCHECKED = "opening_unchecked"
    OPENING_FAILED = "opening_failed"

    # at the chair
    ALREADY_USED = "already_used"
    GIVEN_AWAY = "given_away"
    LOST = "lost"
    IN_DOUBT = "in_doubt"
    """An incident about this very thing is on record."""
    NOT_PROCESSED = "not_processed"
    """It went into no load that is on record."""
    QUARANTINED = "quarantined"
    EXCEPTED = "excepted"
    """The release of its load leaves it out."""
    CAME_OUT_BAD = "came_out_bad"
    """Rejected at unloading."""
    PROTECTED_WITHOUT_SPORES = "protected_without_spores"
    TUBE_NOT_IN_POUCH = "tube_not_in_pouch"
    NOT_OPENED = "not_opened"
    NOT_FILLED = "not_filled"
    ALREADY_FILLED = "already_filled"
    AS_ANSWERED = "as_answered"
    """Told again from the record, for a request that was answered before."""
    PROTECTED_FROM_BOTTLE = "protected_from_bottle"
    """Protected care, and pigment straight from a bottle."""

    # before, in and after a load
    COUNT_DIFFERS = "count_differs"
    CYCLE_UNKNOWN = "cycle_unknown"
    """The steriliser does not run such cycles."""
    WRONG_GOODS = "wrong_goods"
    BELOW_PROGRAMME = "below_programme"
    IN_ANOTHER_LOAD = "in_another_load"
    PROCESSED_BEFORE = "processed_before"
    DESTROYED = "destroyed"
    HELD = "held"
    STOCK_NOT_FOR_STEAM = "stock_not_for_steam"
    STOCK_UNKNOWN = "stock_unknown"
    OUT_OF_SERVICE = "out_of_service"
    UNTESTED = "untested"
    WEAK_SPORES = "weak_spores"
    DAILY_TEST = "daily_test"
    """The day's test of the steriliser is missing or failed."""
    TESTS_MISSING = "tests_missing"
    """Consecutive passed spore tests that a return to service takes."""
    LOAD_NOT_COMPLETE = "load_not_complete"
    NOT_UNLOADED = "not_unloaded"
    NOT_IN_LOAD = "not_in_load"
    READINGS_NOT_MET = "readings_not_met"
    INDICATOR_MISSING = "indicator_missing"
    INDICATOR_FAILED = "indicator_failed"
    SPORES_FAILED = "spores_failed"
    SPORES_INCUBATING = "spores_incubating"
    SPORES_MISSING = "spores_missing"
    MAY_NOT_RELEASE = "may_not_release"
    SECOND_PERSON = "second_person"
    REJECTED = "rejected"
    NOTHING_LEFT = "nothing_left"
    """No pouch is left that could be released."""
    EXPIRED = "expired"

    # against erasing a client
    RECALL_OPEN = "recall_open"
    ADVERSE_EVENT_OPEN = "adverse_event_open"
    RETENTION_RUNS = "retention_runs"


_STILL_TO_CHECK = frozenset(
    {
        ReasonKind.LABEL_INCOMPLETE,
        ReasonKind.CLIENT_MISSING,
        ReasonKind.OPENING_UNCHECKED,
        ReasonKind.NOT_OPENED,
        ReasonKind.NOT_FILLED,
    },
)
"""These can still be put right at the chair; every other reason is STOP."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One reason, in words for the chair."""

    kind: ReasonKind
    """What speaks against use."""
    sentence: str
    """The same in plain words, with the facts."""

    @property
    def verdict(self) -> Verdict:
        """Return how heavy this reason is by itself."""
        return Verdict.PRELIMINARY if self.kind in _STILL_TO_CHECK else Verdict.STOP


def worst(reasons: Iterable[Reason]) -> Verdict:
    """Return the verdict of all reasons together: the worst decides, and GO needs that there is none."""
    verdicts = {reason.verdict for reason in reasons}
    if Verdict.STOP in verdicts:
        return Verdict.STOP
    return Verdict.PRELIMINARY if verdicts else Verdict.GO


def said_once(found: Iterable[tuple[Name | None, Reason]]) -> tuple[Reason, ...]:
    """Return each reason once, with all the things in front of it that share it.

    Args:
        found: every reason with its thing; None for a reason that is no single thing's.
    """
    things: dict[Reason, dict[Name, None]] = {}
    for name, reason in found:
        shared = things.setdefault(reason, {})
        if name is not None:
            shared[name] = None
    return tuple(
        replace(reason, sentence=f"{', '.join(map(str, names))}: {reason.sentence}") if names else reason
        for reason, names in things.items()
    )
