"""What is in a tube or a pouch, where it came from, how long it is good, what its label says: from the model alone.

What is past its use-by, and which cause says so, is computed here from expiry, period after opening, limit after
preparation, the pack's shelf life and filling at the chair.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from chain_model import ABottle, APouch, ATube, Model

from tracelabels.custody import CauseKind, Kind, Name, Outcome
from tracelabels.custody import ReasonKind as Why

_ORDER = list(CauseKind)


@dataclass(frozen=True, kw_only=True)
class Contents:
    """One moment, over everything done so far."""

    model: Model
    now: datetime

    # -- use-by ---

    def causes(self, serial: str) -> list[tuple[date, CauseKind]]:
        """Return every cause that ends the use of a tube or a pouch."""
        model = self.model
        found: list[tuple[date, CauseKind]] = []
        tube = model.tubes.get(serial)
        pouch = model.pouch_of(serial) if tube else model.pouches[serial]
        for number in self._preparations(tube, pouch):
            found += self._causes_of_preparation(number)
        if tube is not None and tube.filled is not None and tube.filled_at is not None:
            found += self._causes_of_preparation(tube.filled)
            found.append((tube.filled_at.date(), CauseKind.FILLED_AT_CHAIR))
        return [*found, *self._causes_of_pack(pouch)]

    def _causes_of_pack(self, pouch: APouch | None) -> Iterator[tuple[date, CauseKind]]:
        """A pack keeps from the day of its last load, if that ran to its end."""
        loads, days = self.model.loads_of(pouch.serial) if pouch else [], self.model.rules.pack_days
        if loads and loads[-1].outcome is Outcome.COMPLETE and days is not None:
            yield loads[-1].at.date() + timedelta(days=days), CauseKind.PACK_SHELF_LIFE

    def use_by(self, serial: str) -> tuple[date, CauseKind] | None:
        """Return the earliest cause; None if there is none, or if a bottle leaves the date open."""
        causes = self.causes(serial)
        if self._dateless(self._bottles(serial)) or not causes:
            return None
        return min(causes, key=lambda one: (one[0], _ORDER.index(one[1])))

    def _causes_of_preparation(self, number: str) -> Iterator[tuple[date, CauseKind]]:
        preparation, limit = self.model.preparations[number], self.model.rules.limit_days
        for serial in preparation.bottles:
            yield from self._causes_of_bottle(self.model.bottles[serial])
        if limit is not None:
            yield preparation.day + timedelta(days=limit), CauseKind.LIMIT_AFTER_PREPARATION

    def _causes_of_bottle(self, bottle: ABottle) -> Iterator[tuple[date, CauseKind]]:
        if bottle.expiry is not None:
            yield bottle.expiry, CauseKind.COMPONENT_EXPIRY
        if bottle.opened is not None and bottle.keeps_days is not None:
            yield bottle.opened + timedelta(days=bottle.keeps_days), CauseKind.PERIOD_AFTER_OPENING

    def _dateless(self, bottles: list[ABottle]) -> set[Why]:
        """A bottle without expiry, or opened nobody knows when, is STOP: this practice has no rule for it."""
        found = {Why.NO_EXPIRY} if any(one.expiry is None for one in bottles) else set()
        return found | ({Why.OPENING_UNKNOWN} if any(one.opened_unknown for one in bottles) else set())

    # -- what is in it, and where it came from ---

    def _preparations(self, tube: ATube | None, pouch: APouch | None) -> list[str]:
        if tube is not None:
            return [tube.preparation]
        inside = [self.model.tubes[one].preparation for one in pouch.tubes] if pouch else []
        return list(dict.fromkeys(inside))

    def _bottles(self, serial: str) -> list[ABottle]:
        """Return the bottles behind a tube or a pouch, as far as its own contents go."""
        tube = self.model.tubes.get(serial)
        numbers = self._preparations(tube, None if tube else self.model.pouches[serial])
        numbers += [tube.filled] if tube is not None and tube.filled is not None else []
        return [self.model.bottles[one] for number in numbers for one in self.model.preparations[number].bottles]

    def origins(self, pouch: APouch, tube: ATube | None = None) -> set[Name]:
        """Return everything that a hold may be on so that it holds this pouch, or a tube that was filled from it."""
        found = {Name(Kind.POUCH, pouch.serial), Name(Kind.CONSUMABLE, f"pouch_material/{pouch.lot}")}
        found |= self._runs(pouch.serial)
        numbers = {self.model.tubes[one].preparation for one in pouch.tubes}
        numbers |= {tube.filled} if tube is not None and tube.filled is not None else set()
        for one in pouch.tubes:
            found |= {Name(Kind.TUBE, one)} | self._runs(one)
        for number in numbers:
            found.add(Name(Kind.PREPARATION, number))
            for serial in self.model.preparations[number].bottles:
                found |= {Name(Kind.BOTTLE, serial), Name(Kind.PRODUCT, self.product_name(serial))}
        return found

    def product_name(self, bottle: str) -> str:
        return f"Saltmarsh Colour/{self.model.bottles[bottle].product}"

    def _runs(self, serial: str) -> set[Name]:
        return {Name(Kind.PRINT_RUN, one.run) for one in self.model.labels.get(serial, ())}

    def is_held(self, names: set[Name], *, by: datetime | None = None) -> bool:
        """Say whether a hold stands on one of these; those put on after a moment may be left out."""
        stands = [one for one in self.model.holds if not one.is_lifted and (by is None or one.at <= by)]
        return any(hold.items & names for hold in stands)

    # -- labels ---

    def first_label(self, serial: str) -> tuple[str | None, date | None, date] | None:
        """Return batch, use-by and day as a label printed now says them; None if it must not be printed.

        No label is printed of what is past its use-by, withdrawn, or without a date.
        """
        tube, pouch = self.model.tubes.get(serial), self.model.pouches.get(serial)
        numbers = self._preparations(tube, pouch)
        bottles = [self.model.bottles[one] for number in numbers for one in self.model.preparations[number].bottles]
        causes = [day for number in numbers for day, _ in self._causes_of_preparation(number)]
        causes += [day for day, _ in self._causes_of_pack(pouch)]
        use_by = min(causes, default=None)
        if self._dateless(bottles) or any(one.withdrawn is not None for one in bottles):
            return None
        if use_by is not None and use_by < self.now.date():
            return None
        if len(numbers) == 1:
            return self.batch_of(numbers[0]), use_by, self.model.preparations[numbers[0]].day
        sealed = pouch.at.date() if pouch is not None else self.now.date()
        return None, use_by, sealed

    def batch_of(self, number: str) -> str | None:
        """Return the batch on a label: the maker's of one pigment, ours of a mix, none of empty tubes."""
        bottles = self.model.preparations[number].bottles
        if len(bottles) == 1:
            return self.model.bottles[bottles[0]].batch
        return number if bottles else None
