"""Use-by: the earliest of its causes, and which cause that is."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from tracelabels.custody.bottles import Bottle
from tracelabels.custody.policy import Policy, UnknownOpeningRule
from tracelabels.custody.preparations import Component, Diluent, Preparation
from tracelabels.custody.reasons import Reason, ReasonKind
from tracelabels.errors import InputError


class CauseKind(StrEnum):
    """Why a thing is good no longer; at equal dates the first of this list is named."""

    COMPONENT_EXPIRY = "component_expiry"
    PERIOD_AFTER_OPENING = "period_after_opening"
    PERIOD_AFTER_RECEIPT = "period_after_receipt"
    """Policy for a bottle that states no expiry."""
    LIMIT_AFTER_PREPARATION = "limit_after_preparation"
    PACK_SHELF_LIFE = "pack_shelf_life"
    FILLED_AT_CHAIR = "filled_at_chair"


_ORDER = {kind: place for place, kind in enumerate(CauseKind)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One date after which a thing may not be used, and why."""

    kind: CauseKind
    """Why."""
    date: dt.date
    """Last day of use by this cause alone."""
    source: str
    """Which bottle, preparation or pack, in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UseBy:
    """The last day of use and its cause."""

    date: dt.date
    """Last day of use."""
    cause: Cause
    """The cause that sets it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dating:
    """All that is known about how long a thing is good."""

    causes: tuple[Cause, ...]
    """Every cause, in the order found."""
    stops: tuple[Reason, ...]
    """What makes a date impossible until a person or the policy resolves it."""

    @property
    def use_by(self) -> UseBy | None:
        """Return the earliest cause; None if nothing sets a date, or if a stop leaves the date open."""
        return None if self.stops or not self.causes else earliest(self.causes)


def earliest(causes: Iterable[Cause]) -> UseBy:
    """Return the earliest cause's date, and the cause.

    At equal dates the kind that stands first in ``CauseKind`` is named, then the source that sorts first, so that the
    answer never depends on the order of entry.

    Raises:
        InputError: there is no cause at all.
    """
    first = min(causes, key=lambda cause: (cause.date, _ORDER[cause.kind], cause.source), default=None)
    if first is None:
        raise InputError(
            given="no cause for a use-by date",
            expected="at least one (an expiry, a period, a limit)",
            remedy="enter the bottle's expiry or set the practice's limit",
        )
    return UseBy(date=first.date, cause=first)


def date_bottle(bottle: Bottle, policy: Policy) -> Dating:
    """Date one bottle: its expiry, and its period after opening if it is open."""
    expiry = _expiry_of(bottle, policy)
    opening = _after_opening(bottle, policy)
    found = [part for part in (expiry, opening) if part is not None]
    return Dating(
        causes=tuple(part for part in found if isinstance(part, Cause)),
        stops=tuple(part for part in found if isinstance(part, Reason)),
    )


def _expiry_of(bottle: Bottle, policy: Policy) -> Cause | Reason:
    if bottle.expiry is not None:
        return Cause(kind=CauseKind.COMPONENT_EXPIRY, date=bottle.expiry.last_day, source=bottle.name)
    if policy.without_expiry is None:
        return Reason(
            kind=ReasonKind.NO_EXPIRY,
            sentence=f"{bottle.name} states no expiry, and the practice has no rule for such a bottle",
        )
    return Cause(
        kind=CauseKind.PERIOD_AFTER_RECEIPT,
        date=policy.without_expiry.end(bottle.received_on),
        source=bottle.name,
    )


def _after_opening(bottle: Bottle, policy: Policy) -> Cause | Reason | None:
    if bottle.opening is None:
        return None
    opened_on = bottle.opening.on
    if opened_on is None:
        if policy.unknown_opening is UnknownOpeningRule.STOP:
            return Reason(
                kind=ReasonKind.OPENING_UNKNOWN,
                sentence=f"nobody knows when {bottle.name} was opened, and the practice has no rule for such a bottle",
            )
        opened_on = bottle.received_on
    if bottle.period_after_opening is None:
        return None
    return Cause(
        kind=CauseKind.PERIOD_AFTER_OPENING,
        date=bottle.period_after_opening.end(opened_on),
        source=bottle.name,
    )


def date_tube(
    preparation: Preparation,
    policy: Policy,
    *,
    processed_on: dt.date | None = None,
    filled_at_chair: dt.date | None = None,
) -> Dating:
    """Date a tube or a pouch of it: components, the practice's limit, the pack's shelf life, filling at the chair.

    Args:
        preparation: what is in the tube, as known today.
        policy: the practice's limits.
        processed_on: the day of its steriliser load; None if not processed yet.
        filled_at_chair: the day it was filled at the chair; None if it was not.
    """
    parts = [date_component(component, policy) for component in preparation.components]
    causes = [cause for part in parts for cause in part.causes]
    own = f"preparation {preparation.number}"
    if policy.limit_after_preparation is not None:
        limit = policy.limit_after_preparation.end(preparation.prepared_on)
        causes.append(Cause(kind=CauseKind.LIMIT_AFTER_PREPARATION, date=limit, source=own))
    if processed_on is not None and policy.pack_shelf_life is not None:
        shelf = policy.pack_shelf_life.end(processed_on)
        causes.append(Cause(kind=CauseKind.PACK_SHELF_LIFE, date=shelf, source=own))
    if filled_at_chair is not None:
        causes.append(Cause(kind=CauseKind.FILLED_AT_CHAIR, date=filled_at_chair, source=own))
    return Dating(causes=tuple(causes), stops=tuple(stop for part in parts for stop in part.stops))


def date_pack(pouch: str, policy: Policy, *, processed_on: dt.date | None) -> Dating:
    """Date the pack itself: its shelf life from the day it was processed, whatever is in it.

    Args:
        pouch: serial of the pouch.
        policy: the practice's limits.
        processed_on: the day of its steriliser load; None if not processed yet.
    """
    if processed_on is None or policy.pack_shelf_life is None:
        return Dating(causes=(), stops=())
    shelf = policy.pack_shelf_life.end(processed_on)
    cause = Cause(kind=CauseKind.PACK_SHELF_LIFE, date=shelf, source=f"pouch {pouch}")
    return Dating(causes=(cause,), stops=())


def date_component(component: Component, policy: Policy) -> Dating:
    """Date one component: a bottle by its rules, a diluent by its expiry (none stated is a stop)."""
    source = component.source
    if not isinstance(source, Diluent):
        return date_bottle(source, policy)
    name = f"{source.name}, batch {source.batch}"
    if source.expiry is None:
        stop = Reason(kind=ReasonKind.NO_EXPIRY, sentence=f"{name} states no expiry")
        return Dating(causes=(), stops=(stop,))
    cause = Cause(kind=CauseKind.COMPONENT_EXPIRY, date=source.expiry, source=name)
    return Dating(causes=(cause,), stops=())
