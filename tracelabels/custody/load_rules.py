"""May this load start? Every reason is given; a load with one does not start, and nothing is written.

Sources: EN 13060 (type N is for unwrapped solids only); that a processed or filled tube is never run again, and that a
programme for wrapped goods is no evidence for a liquid, are the practice's own rules (common practice).
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from tracelabels.custody.carriers import refusals_before_processing
from tracelabels.custody.loads import Goods, Load, Outcome
from tracelabels.custody.policy import Policy
from tracelabels.custody.preparations import Pouch, Preparation
from tracelabels.custody.prints import PrintRun
from tracelabels.custody.reasons import Reason, ReasonKind
from tracelabels.custody.releases import Hold
from tracelabels.custody.sterilisers import CycleKind


@dataclass(frozen=True, slots=True, kw_only=True)
class PastLoad:
    """A load that a pouch went into before."""

    number: str
    """Its number."""
    outcome: Outcome | None
    """How it ended; None if nobody entered it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PouchAtStart:
    """What is known of a pouch that was scanned in."""

    serial: str
    """As scanned."""
    pouch: Pouch | None
    """The pouch; None if there is none on record."""
    filled: tuple[Preparation, ...] = ()
    """What its tubes were filled with before processing; none for empty tubes and instruments."""
    loads: tuple[PastLoad, ...] = ()
    """Loads it went into before, oldest first."""
    is_opened: bool = False
    """It was opened or used."""
    is_destroyed: bool = False
    """It, or what was in it, was destroyed."""
    holds: tuple[Hold, ...] = ()
    """Holds on it or on what it comes from, not lifted."""
    runs: tuple[PrintRun, ...] = ()
    """Print runs of the labels on it and in it."""


def load_reasons(
    pouches: Sequence[PouchAtStart], *, counted: int, cycle_kind: CycleKind, goods: Goods, policy: Policy
) -> tuple[Reason, ...]:
    """Return every reason against starting a load with these pouches, apart from the steriliser's own.

    Args:
        pouches: scanned in, each once.
        counted: pouches counted by hand.
        cycle_kind: kind of cycle.
        goods: what the programme is for.
        policy: the practice's, with the liquid cycle on file if there is one.
    """
    reasons = [
        *_count_reasons(len(pouches), counted),
        *_programme_reasons(cycle_kind, goods, has_pouches=bool(pouches)),
    ]
    for one in pouches:
        reasons += [Reason(kind=kind, sentence=f"pouch {one.serial} {words}") for kind, words in _pouch_reasons(one)]
        reasons += _goods_reasons(one, goods)
    if goods is Goods.LIQUID:
        products = [bottle.product for one in pouches for what in one.filled for bottle in what.bottles]
        reasons += refusals_before_processing(products, policy)
    return tuple(dict.fromkeys(reasons))


def stock_warnings(pouches: Iterable[PouchAtStart]) -> tuple[Reason, ...]:
    """Return what is to be said of labels of which nobody knows whether they withstand steam.

    They are no danger: a label that blackens is found at unloading, where every label is scanned again. So the load
    may start; only labels known not to withstand steam are refused.
    """
    numbers = sorted({run.number for one in pouches for run in one.runs if run.stock_withstands_steam is None})
    return tuple(
        Reason(
            kind=ReasonKind.STOCK_UNKNOWN,
            sentence=f"nobody entered whether the labels of print run {number} withstand steam; direct-thermal labels "
            "blacken; say it in practice.toml, [stock]",
        )
        for number in numbers
    )


def reason_not_ended(load: Load) -> Reason:
    """Return what speaks against unloading, reading indicators and releasing while nobody entered a load's end."""
    return Reason(kind=ReasonKind.LOAD_NOT_COMPLETE, sentence=f"nobody entered how load {load.number} ended")


def _count_reasons(scanned: int, counted: int) -> tuple[Reason, ...]:
    if scanned == counted:
        return ()
    sentence = f"{counted} pouches were counted and {scanned} scanned; count and scan again until both agree"
    return (Reason(kind=ReasonKind.COUNT_DIFFERS, sentence=sentence),)


def _programme_reasons(cycle_kind: CycleKind, goods: Goods, *, has_pouches: bool) -> Iterator[Reason]:
    if cycle_kind is CycleKind.TYPE_N and (has_pouches or goods is not Goods.UNWRAPPED):
        sentence = "a type N cycle (no air removal) takes unwrapped solids only: pouches are refused"
        yield Reason(kind=ReasonKind.WRONG_GOODS, sentence=sentence)
    elif goods is Goods.UNWRAPPED and has_pouches:
        sentence = "the programme is for unwrapped goods: pouches are refused"
        yield Reason(kind=ReasonKind.WRONG_GOODS, sentence=sentence)
    if (cycle_kind is CycleKind.LIQUID) != (goods is Goods.LIQUID):
        sentence = "a liquid cycle is for liquids, and liquids go into a liquid cycle only"
        yield Reason(kind=ReasonKind.WRONG_GOODS, sentence=sentence)


def _pouch_reasons(one: PouchAtStart) -> Iterator[tuple[ReasonKind, str]]:
    if one.pouch is None:
        yield ReasonKind.NOT_ON_RECORD, "is not on record"
        return
    yield from _past_load_reasons(one)
    if one.is_opened:
        yield ReasonKind.ALREADY_OPENED, "was opened or used"
    if one.is_destroyed:
        yield ReasonKind.DESTROYED, "was destroyed, or what is in it was"
    for hold in one.holds:
        yield ReasonKind.HELD, f"is kept back by hold {hold.number} ({hold.reason})"
    for run in one.runs:
        if run.stock_withstands_steam is False:
            words = f"bears a label of print run {run.number}, whose stock does not withstand steam"
            yield ReasonKind.STOCK_NOT_FOR_STEAM, words


def _past_load_reasons(one: PouchAtStart) -> Iterator[tuple[ReasonKind, str]]:
    for past in one.loads:
        if past.outcome is None:
            yield ReasonKind.IN_ANOTHER_LOAD, f"is in load {past.number}, whose end nobody entered"
        elif past.outcome is Outcome.COMPLETE:
            words = f"was processed in load {past.number}; a processed pouch is never run again"
            yield ReasonKind.PROCESSED_BEFORE, words
        elif one.filled:
            words = f"holds filled tubes that were in load {past.number}; a filled tube is never run again"
            yield ReasonKind.PROCESSED_BEFORE, words


def _goods_reasons(one: PouchAtStart, goods: Goods) -> Iterator[Reason]:
    if one.pouch is None:
        return
    if goods is not Goods.LIQUID and one.filled:
        sentence = f"pouch {one.serial} holds filled tubes, which need a liquid programme"
        yield Reason(kind=ReasonKind.WRONG_GOODS, sentence=sentence)
    if goods is Goods.LIQUID and (one.pouch.instruments or not one.filled):
        sentence = f"pouch {one.serial} holds instruments or empty tubes; a liquid load is never for those"
        yield Reason(kind=ReasonKind.WRONG_GOODS, sentence=sentence)
