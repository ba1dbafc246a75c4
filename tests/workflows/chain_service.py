"""What a steriliser may run, and when it returns to service, by brute force over the model.

Written apart from the package's rules, from EN 13060 (type N: unwrapped solids only), CDC 2008, Table 12 (out of
service after growth, three consecutive passes before return), California HSC 119315 (untested after installation and
repair), and the practice's own rules: a filled tube is never run again, wrapped goods are no evidence for a liquid.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from chain_model import APouch, Process
from chain_oracle import Oracle
from chain_spores import Spores

from tracelabels.custody import CycleKind, Goods, Kind, Name, Outcome, Variant
from tracelabels.custody import ReasonKind as Why

KINDS = {
    "S1": {CycleKind.AIR_REMOVAL, CycleKind.LIQUID},
    "S2": {CycleKind.AIR_REMOVAL, CycleKind.TYPE_N},
}
"""What each steriliser of the practice can run."""


@dataclass(frozen=True, kw_only=True)
class Service(Oracle):
    """One moment, over everything done so far: what speaks against starting a load, or returning to service."""

    @property
    def _spores(self) -> Spores:
        return Spores(model=self.model)

    def out_since(self, process: Process) -> datetime | None:
        """Return when a process was taken out of service, if it was not returned by now."""
        out = [at for at, which in self.model.taken_out if which == process and at <= self.now]
        back = [at for at, which in self.model.returned if which == process and at <= self.now]
        last = max(out, default=None)
        return last if last is not None and not any(at > last for at in back) else None

    def against_start(self, pouches: tuple[str, ...], process: Process, goods: Goods, *, is_test: bool) -> set[Why]:
        """Return every kind of reason against starting a load."""
        steriliser, kind = process
        found = {why for one in pouches for why in self._of_pouch(self.model.pouches[one], goods)}
        if kind not in KINDS[steriliser]:
            found.add(Why.CYCLE_UNKNOWN)
        if self.out_since(process) is not None and not (is_test and not pouches):
            found.add(Why.OUT_OF_SERVICE)
        if not is_test and self._is_untested(process):
            found.add(Why.UNTESTED)
        is_liquid = kind is CycleKind.LIQUID
        if is_liquid is not (goods is Goods.LIQUID) or (kind is CycleKind.TYPE_N and goods is not Goods.UNWRAPPED):
            found.add(Why.WRONG_GOODS)
        if pouches and (kind is CycleKind.TYPE_N or goods is Goods.UNWRAPPED):
            found.add(Why.WRONG_GOODS)
        return found

    def _is_untested(self, process: Process) -> bool:
        changes = [self.model.installed[process[0]], *self._spores.repairs(process[0])]
        passed = [one.at for one in self._spores.passes(process) if one.at < self.now]
        return not passed or passed[-1] < max(at for at in changes if at <= self.now)

    def _of_pouch(self, pouch: APouch, goods: Goods) -> Iterator[Why]:
        inside = {Name(Kind.POUCH, pouch.serial), *(Name(Kind.TUBE, one) for one in pouch.tubes)}
        variants = {self.model.preparations[self.model.tubes[one].preparation].variant for one in pouch.tubes}
        is_filled = bool(variants - {Variant.EMPTY_TUBES})
        yield from self._of_past_loads(pouch, is_filled=is_filled)
        if (pouch.instruments or not is_filled) if goods is Goods.LIQUID else is_filled:
            yield Why.WRONG_GOODS
        if pouch.serial in self.model.openings or any(one.items & inside for one in self.model.uses.values()):
            yield Why.ALREADY_OPENED
        if inside & set(self.model.destroyed):
            yield Why.DESTROYED
        if self.is_held(self.origins(pouch)):
            yield Why.HELD

    def _of_past_loads(self, pouch: APouch, *, is_filled: bool) -> Iterator[Why]:
        for load in self.model.loads_of(pouch.serial):
            if load.outcome is None:
                yield Why.IN_ANOTHER_LOAD
            elif load.outcome is Outcome.COMPLETE or is_filled:
                yield Why.PROCESSED_BEFORE

    def against_return(self, steriliser: str, kind: CycleKind | None) -> set[Why]:
        """Return every kind of reason against returning a steriliser, of one kind of cycle or of all that are out."""
        processes = [(steriliser, one) for one in sorted(KINDS[steriliser])] if kind is None else [(steriliser, kind)]
        out = [one for one in processes if self.out_since(one) is not None]
        if not out:
            return {Why.OUT_OF_SERVICE}
        return {Why.TESTS_MISSING} if any(self._lacks_passes(one) for one in out) else set()

    def _lacks_passes(self, process: Process) -> bool:
        """Three passes in a row, run and read by now, after it was taken out and after whatever grew."""
        since = self.out_since(process)
        assert since is not None
        grown = [one.at for one in self._spores.grown(process) if one.at <= self.now]
        return self._spores.third_pass(process, max([since, *grown]), known_at=self.now) is None
