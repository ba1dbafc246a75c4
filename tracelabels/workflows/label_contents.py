"""What the label of a recorded tube or pouch says, from the facts as they are known today."""

from collections import Counter
from collections.abc import Sequence
from datetime import date
from typing import Final

from tracelabels.custody import (
    Dating,
    Fill,
    Kind,
    Load,
    Name,
    Pouch,
    Preparation,
    Product,
    Tube,
    date_pack,
    date_tube,
)
from tracelabels.errors import InputError, LedgerError
from tracelabels.identifiers import IdentifierMode, LabelIdentity, require_readable
from tracelabels.labels import ContentLine, LabelContent, Layout, LotKind
from tracelabels.records import Reading
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.processing_record import ProcessingReader

POUCH_SET: Final = "pouch"
"""The label set of everything that goes on a pouch."""


class ContentWriter:
    """Writes the contents of labels in one state of the ledger; each preparation is looked up once."""

    def __init__(self, practice: Practice, ledger: Reading) -> None:
        """Write for a practice, from a unit of reading or writing."""
        self._practice = practice
        self._ledger = ledger
        self._policy = practice.settings.policy.as_policy()
        self._processing = ProcessingReader(ledger, practice.settings.spore_policy)
        self._preparations: dict[str, Preparation] = {}
        self._use_bys: dict[str, date | None] = {}

    def content_of(self, serial: str, *, is_second: bool = False) -> LabelContent:
        """Return what the label of a tube or a pouch says.

        Args:
            serial: of the tube or pouch.
            is_second: it is asked for the second label: of a tube, what was filled in at the chair.

        Raises:
            LedgerError: the serial is not on record.
            InputError: no use-by can be said, it is past, a bottle was withdrawn, or the identifier mode needs a GTIN
                that settings do not name.
        """
        tube = self._ledger.find_tube(serial)
        pouch = None if tube is not None else self._ledger.find_pouch(serial)
        if tube is not None:
            content = self._second_content(tube.value) if is_second else self._tube_content(tube.value)
        elif pouch is not None:
            content = self._pouch_content(pouch.value)
        else:
            raise LedgerError(
                given=f"serial {serial}",
                expected="a tube or a pouch that is on record",
                remedy="check it, or prepare it first",
            )
        require_readable(content.identity, today=self._practice.today)
        return content

    def require_surface(self, serial: str, layout: Layout) -> None:
        """See that a layout is for the thing that a serial names: pouch labels for pouches, others for tubes.

        Raises:
            InputError: it is for the other.
        """
        is_pouch = self._ledger.find_pouch(serial) is not None
        if is_pouch != (layout.label_set == POUCH_SET):
            raise InputError(
                given=f"layout {layout.name} for {'pouch' if is_pouch else 'tube'} {serial}",
                expected=f"a layout for a {'pouch' if is_pouch else 'tube'}",
                remedy="see 'tracelabels labels --list' for what each layout is for",
            )

    def _second_content(self, tube: Tube) -> LabelContent:
        """Return what was filled in at the chair; good for that session only."""
        fills = self._ledger.about(Fill, "tube", Name(Kind.TUBE, tube.serial))
        if not fills:
            raise InputError(
                given=f"a second label for tube {tube.serial}, into which nothing was filled at the chair",
                expected="a tube that was filled at the chair",
                remedy="record the filling first with 'tracelabels fill'",
            )
        fill = fills[-1].value
        preparation = self._preparation(fill.preparation.text)
        session = self._practice.day_of(fill.at)
        if session < self._practice.today:
            raise InputError(
                given=f"a second label for tube {tube.serial}, filled on {session.isoformat()}",
                expected="a tube that was filled in this session",
                remedy="destroy it: what is filled at the chair is good for that session only",
            )
        known = self._use_by(preparation)
        return self._content_from(tube, preparation, use_by=min(known, session) if known else session)

    def _tube_content(self, tube: Tube) -> LabelContent:
        preparation = None if tube.preparation is None else self._preparation(tube.preparation)
        return self._content_from(tube, preparation, use_by=self._use_by(preparation) if preparation else None)

    def _content_from(self, tube: Tube, preparation: Preparation | None, *, use_by: date | None) -> LabelContent:
        products = _products([preparation] if preparation else [])
        return LabelContent(
            identity=LabelIdentity(
                gtin=_gtin(self._practice, products),
                use_by=use_by,
                prepared=preparation.prepared_on if preparation else None,
                lot=preparation.label_batch if preparation else None,
                serial=tube.serial,
            ),
            mode=self._practice.settings.identifier_mode,
            product=_names(products),
            item_number=products[0].item_number if len(products) == 1 else None,
            lot_kind=_lot_kind(preparation),
            volume=f"{preparation.fill_ml} mL" if preparation and preparation.fill_ml is not None else None,
        )

    def _pouch_content(self, pouch: Pouch) -> LabelContent:
        tubes = [self._require_tube(serial) for serial in pouch.tubes]
        counted = Counter(tube.preparation for tube in tubes if tube.preparation is not None)
        preparations = [self._preparation(number) for number in counted]
        single = preparations[0] if len(preparations) == 1 else None
        products = _products(preparations)
        use_bys = [day for day in map(self._use_by, preparations) if day is not None]
        load = self._complete_load(pouch)
        processed_on = None if load is None else self._processing.day_of(load)
        pack = date_pack(pouch.serial, self._policy, processed_on=processed_on)
        _refuse_past(f"pouch {pouch.serial}", _past(pack, self._practice.today))
        use_bys += [cause.date for cause in pack.causes]
        return LabelContent(
            identity=LabelIdentity(
                gtin=_gtin(self._practice, products),
                use_by=min(use_bys, default=None),
                prepared=single.prepared_on if single else pouch.sealed_on,
                lot=single.label_batch if single else None,
                serial=pouch.serial,
            ),
            mode=self._practice.settings.identifier_mode,
            product=_names(products),
            item_number=products[0].item_number if len(products) == 1 else None,
            lot_kind=_lot_kind(single),
            contents=_contents(pouch, tubes),
            steriliser=load.steriliser.text if load else None,
            load_number=load.number if load else None,
            processed_on=processed_on,
            operator=self._initials(load.operator) if load else None,
            lines=tuple(self._line(one, counted[one.number]) for one in preparations)
            + tuple(ContentLine(name=name) for name in pouch.instruments),
        )

    def _complete_load(self, pouch: Pouch) -> Load | None:
        """Return the load that processed a pouch; None before it is complete."""
        loads = self._processing.loads_of(Name(Kind.POUCH, pouch.serial))
        return loads[-1] if loads and self._processing.day_of(loads[-1]) is not None else None

    def _initials(self, code: str) -> str:
        """Return the initials of a member of staff, or the code where none are on record."""
        found = self._ledger.find_staff(code)
        return (found.value.initials if found else None) or code

    def _line(self, preparation: Preparation, count: int) -> ContentLine:
        bottles = preparation.bottles
        return ContentLine(
            name=_names(_products([preparation])) or "empty tube",
            item_number=bottles[0].product.item_number if len(bottles) == 1 else None,
            lot=preparation.label_batch,
            lot_kind=_lot_kind(preparation),
            use_by=self._use_by(preparation),
            count=count,
        )

    def _require_tube(self, serial: str) -> Tube:
        found = self._ledger.find_tube(serial)
        if found is None:
            raise LedgerError(
                given=f"tube {serial}, which a pouch names",
                expected="a tube that is on record",
                remedy="verify the ledger with 'tracelabels verify'",
            )
        return found.value

    def _preparation(self, number: str) -> Preparation:
        known = self._preparations.get(number)
        if known is None:
            found = self._ledger.find_preparation(number)
            if found is None:
                raise LedgerError(
                    given=f"preparation {number}, which a tube names",
                    expected="a preparation that is on record",
                    remedy="verify the ledger with 'tracelabels verify'",
                )
            known = self._preparations[number] = found.value
        return known

    def _use_by(self, preparation: Preparation) -> date | None:
        """Return the last day of use; what is past it, or comes from a withdrawn bottle, gets no label."""
        if preparation.number not in self._use_bys:
            dating = date_tube(preparation, self._policy)
            reasons = _against(preparation, dating, self._practice.today)
            _refuse_past(f"preparation {preparation.number}", reasons)
            self._use_bys[preparation.number] = dating.use_by.date if dating.use_by else None
        return self._use_bys[preparation.number]


def _against(preparation: Preparation, dating: Dating, today: date) -> list[str]:
    reasons = [*(stop.sentence for stop in dating.stops), *_past(dating, today)]
    reasons += [
        f"{bottle.name} was withdrawn on {bottle.withdrawn_on.isoformat()}"
        for bottle in preparation.bottles
        if bottle.withdrawn_on is not None
    ]
    return reasons


def _past(dating: Dating, today: date) -> list[str]:
    return [f"{cause.source} was good until {cause.date.isoformat()}" for cause in dating.causes if cause.date < today]


def _refuse_past(what: str, reasons: Sequence[str]) -> None:
    """Refuse a label for what may not be used any more."""
    if reasons:
        raise InputError(
            given=f"{what}: {'; '.join(reasons)}",
            expected="tubes that may still be used",
            remedy="destroy them, or correct the record or the policy if it is wrong; no label was printed",
        )


def _products(preparations: Sequence[Preparation]) -> list[Product]:
    return list(dict.fromkeys(bottle.product for one in preparations for bottle in one.bottles))


def _names(products: Sequence[Product]) -> str | None:
    return " + ".join(product.name for product in products) or None


def _lot_kind(preparation: Preparation | None) -> LotKind:
    own = preparation is not None and preparation.label_batch == preparation.number
    return LotKind.PREPARATION if own else LotKind.BATCH


def _contents(pouch: Pouch, tubes: Sequence[Tube]) -> str:
    sizes: dict[str, int] = {}
    for tube in tubes:
        size = f"tube {tube.size_ml} mL" if tube.size_ml is not None else "tube"
        sizes[size] = sizes.get(size, 0) + 1
    parts = [f"{count} x {size}" for size, count in sizes.items()]
    return ", ".join([*parts, *pouch.instruments])


def _gtin(practice: Practice, products: Sequence[Product]) -> str | None:
    """Return the practice's own GTIN for what is in it; a bottle's GTIN is its maker's and is never used."""
    if practice.settings.identifier_mode is not IdentifierMode.GS1:
        return None
    items = [product.item_number for product in products]
    gtin = practice.settings.identifiers.gtins.get(items[0]) if len(items) == 1 else None
    if gtin is None:
        raise InputError(
            given=f"item {', '.join(items) or 'none'} in identifier mode 'gs1'",
            expected="one item with a GTIN of the practice's own in practice.toml, [identifiers.gtins]",
            remedy="allot one there, or set identifiers.mode = 'in_house'",
        )
    return gtin
