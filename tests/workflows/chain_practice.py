"""A real practice for the machine, its clock, and the model beside it; rules of the bench and the steriliser follow.

Every write goes through a workflow; a request that has a key is made as ``chain_requests.py`` says.
"""

import shutil
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import ClassVar, TypeVar

from chain_model import AHold, ALabel, Model, Rules
from chain_oracle import Oracle
from chain_requests import RequestRules
from chain_service import KINDS, Service
from chain_spores import Spores
from hypothesis import strategies as st

from tracelabels.custody import (
    Carrier,
    Consumable,
    ConsumableKind,
    Hold,
    Kind,
    LabelKind,
    Name,
    PrintedLabel,
    PrintRun,
    Product,
    Reason,
    ReasonKind,
    Steriliser,
)
from tracelabels.errors import InputError
from tracelabels.records import open_ledger
from tracelabels.settings import parse_settings
from tracelabels.workflows.enter_consumable import enter_consumable
from tracelabels.workflows.enter_product import enter_product
from tracelabels.workflows.enter_steriliser import enter_steriliser
from tracelabels.workflows.label_contents import ContentWriter
from tracelabels.workflows.practice import LEDGER_FILE, Practice

T = TypeVar("T")
BEGIN = datetime(2027, 1, 4, 8, tzinfo=UTC)
MAKER = "Saltmarsh Colour"
PRODUCTS = tuple(
    Product(name=name, item_number=name, maker=MAKER, carrier=Carrier.WATER_BASED, resterilising_statement="file 3")
    for name in ("Rosehip", "Clay")
)
lateness = st.sampled_from([None] * 5 + [timedelta(hours=1), timedelta(hours=26), timedelta(days=4)])
"""How long after it happened a thing is entered; None for at once."""
LOTS = (
    (ConsumableKind.POUCH_MATERIAL, "PF-1"),
    (ConsumableKind.POUCH_MATERIAL, "PF-2"),
    (ConsumableKind.INDICATORS, "CI-1"),
    (ConsumableKind.INDICATORS, "CI-2"),
    (ConsumableKind.SPORE_TESTS, "BI-1"),
)
KEY = bytes(range(32))


class PracticeMachine(RequestRules):
    """The practice that is driven, and the model that is kept."""

    template: ClassVar[Path]
    """A practice's folder, empty, to be copied."""
    folders: ClassVar[Callable[[], Path]]
    """Makes the name of a folder that is not there yet."""
    seen: ClassVar[Counter[str]]
    """How often what matters happened, over all histories: a machine that never gets there shows nothing."""
    location: ClassVar[Callable[[Path], Path | str]] = staticmethod(lambda folder: folder / LEDGER_FILE)
    """Where the ledger of a folder lies."""

    def __init__(self) -> None:
        super().__init__()
        self.now, self.late_entries = BEGIN, 0
        self.seen["histories"] += 1
        self.model = Model(rules=Rules(), installed=dict.fromkeys(KINDS, BEGIN))
        folder = type(self).folders()
        shutil.copytree(type(self).template, folder)
        self.stack = ExitStack()
        ledger = self.stack.enter_context(
            open_ledger(type(self).location(folder), site=1, clock=lambda: self.now, key=KEY)
        )
        self.practice = Practice(
            folder=folder, settings=parse_settings(self.settings_text()), ledger=ledger, now=lambda: self.now
        )
        for product in PRODUCTS:
            enter_product(self.practice, product, by="bench")
        for code, kinds in KINDS.items():
            steriliser = Steriliser(code=code, name=code, serial_number=code, cycle_kinds=tuple(sorted(kinds)))
            enter_steriliser(self.practice, steriliser, by="bench", installed_at=self.now)
        for kind, lot in LOTS:
            enter_consumable(self.practice, Consumable(kind=kind, lot=lot), by="bench")
        self.tick()

    def settings_text(self) -> str:
        """Return practice.toml as the model's rules say."""
        rules = self.model.rules
        changes = {
            "limit_after_preparation": f'"{rules.limit_days} days"' if rules.limit_days else '"none"',
            "pouch_shelf_life": f'"{rules.pack_days} days"' if rules.pack_days else '"event"',
            "spore_growth_policy": '"strict"' if rules.is_strict else '"confirm_first"',
            "early_release": "true" if rules.early_release else "false",
            "air_removal_test": '"warn"',
            "validated_liquid_cycle": '"folder 7"',
            "client_records_years": str(rules.keep_years),
            "load_records_years": "0",
        }
        lines = (type(self).template / "practice.toml").read_text(encoding="utf-8").splitlines()
        return "\n".join(
            next((f"{key} = {value}" for key, value in changes.items() if line.startswith(f"{key} = ")), line)
            for line in lines
        )

    def decide(self) -> None:
        """Take the model's rules into force."""
        settings = parse_settings(self.settings_text())
        self.practice = Practice(
            folder=self.practice.folder, settings=settings, ledger=self.practice.ledger, now=self.practice.now
        )

    # -- what every rule needs ---

    def tick(self, days: int = 0, hours: int = 0) -> datetime:
        """Let time pass, seven minutes if nothing else is said; nothing happens at one moment with another thing."""
        self.now += timedelta(days=days, hours=hours, minutes=0 if days or hours else 7)
        return self.now

    def moment(self, late: timedelta | None) -> datetime:
        """Return when something happened that is entered now; no two things happen at one moment."""
        if late is None:
            return self.now
        self.late_entries += 1
        return max(self.now - late, BEGIN) + timedelta(seconds=self.late_entries)

    def as_of(self, at: datetime) -> Service:
        """Return the checker as of a moment, with all that is known today."""
        return Service(model=self.model, now=at)

    @property
    def oracle(self) -> Oracle:
        return self.as_of(self.now)

    @property
    def spores(self) -> Spores:
        return Spores(model=self.model)

    def print_labels(self, pouch: str) -> None:
        """Record labels of a pouch and of its tubes as a print run would, if they may be printed."""
        serials = [pouch, *self.model.pouches[pouch].tubes]
        wanted = {serial: self.label_of(serial) for serial in serials}
        number = f"R01-{len({one.run for labels in self.model.labels.values() for one in labels}) + 1:04d}"
        run = PrintRun(number=number, printed_on=self.practice.today, layout="x", sheet="y", dpi=300)
        with self.practice.write(by="bench") as ledger:
            try:
                printed = [self._printed(ContentWriter(self.practice, ledger), serial) for serial in serials]
            except InputError:
                assert None in wanted.values(), f"no label is printed of {serials}, and nothing speaks against it"
                return
            ledger.add_print_run(run, printed)
        for serial, (said, one) in zip(serials, zip(wanted.values(), printed, strict=True), strict=True):
            assert said == (one.lot, one.use_by, one.prepared), f"label of {serial}: {one}, not {said}"
            label = ALabel(run=number, batch=one.lot, use_by=one.use_by, prepared=one.prepared)
            self.model.labels.setdefault(serial, []).append(label)

    def _printed(self, writer: ContentWriter, serial: str) -> PrintedLabel:
        told = writer.content_of(serial).identity
        kind = LabelKind.POUCH if serial in self.model.pouches else LabelKind.TUBE
        return PrintedLabel(serial=serial, kind=kind, lot=told.lot, use_by=told.use_by, prepared=told.prepared)

    def label_of(self, serial: str) -> tuple[object, ...] | None:
        """Return what the first label of a thing says, by the model; None if none may be printed."""
        return self.oracle.first_label(serial)

    def hold(self, number: str, items: Sequence[Name], at: datetime) -> None:
        self.model.holds.append(AHold(number=number, items=frozenset(items), at=at))

    def read_growth(self, number: str, hold: Hold) -> None:
        """Compare and note the hold that a growth puts on every load that it reaches so far."""
        test = self.model.tests[number]
        loads = self.model.loads.values()
        reached = {Name(Kind.LOAD, one.number) for one in loads if self.spores.is_reached(one, test)}
        assert set(hold.items) == reached, f"kept back by growth in {number}"
        self.hold(hold.number, sorted(reached), hold.at)

    def compare(self, said: Sequence[Reason], expected: set[ReasonKind], what: str) -> None:
        """Compare reasons by kind: none may be missing, none may be one too many."""
        found = {one.kind for one in said}
        assert found == expected, (
            f"{what}: the product says {sorted(found - expected)} and the checker does not; the checker says "
            f"{sorted(expected - found)} and the product does not; {[one.sentence for one in said]}"
        )


def chosen(things: Sequence[T] | dict[T, object], number: int) -> T:
    """Return the thing that a number drawn stands for."""
    listed = list(things)
    return listed[number % len(listed)]
