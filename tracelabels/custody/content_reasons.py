"""What speaks against the contents: bottles past their time, withdrawn or finished, and lots of consumables.

Also the gate of a bottle that is poured from, or used directly.
"""

from collections.abc import Iterable, Sequence
from datetime import date

from tracelabels.custody.bottles import Bottle
from tracelabels.custody.consumables import Consumable
from tracelabels.custody.policy import Policy
from tracelabels.custody.preparations import Component
from tracelabels.custody.reasons import Reason, ReasonKind
from tracelabels.custody.releases import Hold
from tracelabels.custody.use_by import Dating, date_bottle, date_component
from tracelabels.words import in_words


def bottle_reasons(bottle: Bottle, policy: Policy, *, today: date) -> tuple[Reason, ...]:
    """Return every reason against taking anything out of this bottle today: the bottle's own gate."""
    dating = date_bottle(bottle, policy)
    reasons = [*dating.stops, *withdrawn_reasons((bottle,))]
    if bottle.finished_on is not None:
        sentence = f"{bottle.name} was finished on {bottle.finished_on.isoformat()}"
        reasons.append(Reason(kind=ReasonKind.FINISHED, sentence=sentence))
    return (*reasons, *past_reasons(dating, today))


def component_reasons(component: Component, policy: Policy, *, today: date) -> tuple[Reason, ...]:
    """Return every reason against putting this component into anything today, be it a bottle or a diluent."""
    if isinstance(component.source, Bottle):
        return bottle_reasons(component.source, policy, today=today)
    dating = date_component(component, policy)
    return (*dating.stops, *past_reasons(dating, today))


def pouring_reasons(bottle: Bottle, policy: Policy, holds: Sequence[Hold], *, today: date) -> tuple[Reason, ...]:
    """Return every reason against pouring from a bottle at the chair: its own gate, holds, an opening on record."""
    reasons = [*bottle_reasons(bottle, policy, today=today), *hold_reasons(holds)]
    if bottle.opening is None:
        sentence = (
            f"bottle {bottle.serial} ({bottle.name}) is not recorded as opened; record it with 'tracelabels open'"
        )
        reasons.append(Reason(kind=ReasonKind.NOT_OPENED, sentence=sentence))
    return tuple(reasons)


def lot_reasons(lot: Consumable, holds: Sequence[Hold], *, today: date) -> tuple[Reason, ...]:
    """Return every reason against using a lot of a consumable today."""
    reasons = list(hold_reasons(holds))
    if lot.expiry is not None and lot.expiry < today:
        sentence = f"it was good until {lot.expiry.isoformat()}"
        reasons.append(Reason(kind=ReasonKind.EXPIRED, sentence=sentence))
    return tuple(reasons)


def hold_reasons(holds: Iterable[Hold]) -> tuple[Reason, ...]:
    """Return a reason for each hold."""
    return tuple(
        Reason(
            kind=ReasonKind.HELD,
            sentence=f"it, or what it comes from or went with, is kept back by hold {hold.number} "
            f"({in_words(hold.cause)}): {hold.reason}",
        )
        for hold in holds
    )


def past_reasons(dating: Dating, today: date) -> tuple[Reason, ...]:
    """Return a reason for each cause that sets a day before today."""
    return tuple(
        Reason(
            kind=ReasonKind.PAST_USE_BY,
            sentence=f"{cause.source} was good until {cause.date.isoformat()} ({in_words(cause.kind)})",
        )
        for cause in dating.causes
        if cause.date < today
    )


def withdrawn_reasons(bottles: Iterable[Bottle]) -> tuple[Reason, ...]:
    """Return a reason for each bottle that was withdrawn."""
    return tuple(
        Reason(
            kind=ReasonKind.WITHDRAWN,
            sentence=f"{bottle.name} was withdrawn on {bottle.withdrawn_on.isoformat()}",
        )
        for bottle in bottles
        if bottle.withdrawn_on is not None
    )
