"""Look up anything by its number, serial, code or lot, and say what hangs together with it; the answer is bounded."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Final

from tracelabels.custody import Bottle, Kind, Name, Pouch, Preparation, PrintRun, Product, Tube, Variant
from tracelabels.errors import InputError
from tracelabels.records import Reading
from tracelabels.words import in_words, some
from tracelabels.workflows.look_up_recorded import Found, facts_about, find_recorded
from tracelabels.workflows.practice import Practice

_VARIANTS: Final = {
    Variant.EMPTY_TUBES: "empty tubes",
    Variant.FILLED_BEFORE: "filled before processing",
    Variant.FILLED_AT_CHAIR: "filled at the chair",
}


def look_up(practice: Practice, what: str, *, show_personal: bool = False) -> tuple[Found, ...]:
    """Return everything that bears a number: a serial, a maker's batch or lot, a code, any of our own numbers.

    Args:
        practice: the practice.
        what: the number, as on the label or in the list.
        show_personal: whether what is personal about a client is shown.

    Raises:
        InputError: nothing bears it.
    """
    text = what.strip()
    with practice.ledger.read() as ledger:
        found = (*_find(ledger, text), *find_recorded(practice, ledger, text, show_personal=show_personal))
        found = tuple(_with_facts_about(practice, ledger, one) for one in found)
    if not found:
        raise InputError(
            given=f"{what!r}",
            expected="a serial, a batch, a lot, a code, an item number or a number of ours that is on record",
            remedy="check it; nothing with this number was ever recorded here",
        )
    return found


def _with_facts_about(practice: Practice, ledger: Reading, found: Found) -> Found:
    """Add the facts that name a thing to what is known of it."""
    kind = Kind(found.kind.replace(" ", "_"))
    text = dict(found.facts)["maker"] + "/" + found.name if kind is Kind.PRODUCT else found.name
    return replace(found, facts=(*found.facts, *facts_about(practice, ledger, Name(kind, text))))


def _find(ledger: Reading, text: str) -> Iterator[Found]:
    for find, describe in (
        (ledger.find_tube, _tube),
        (ledger.find_pouch, _pouch),
        (ledger.find_bottle, _bottle),
        (ledger.find_preparation, _preparation),
        (ledger.find_print_run, _run),
    ):
        recorded: Any = find(text)
        if recorded is not None:
            yield describe(ledger, recorded.value)
    for recorded in ledger.bottles(batch=text):
        yield _bottle(ledger, recorded.value)
    for product in ledger.products(item_number=text):
        yield _product(ledger, product.value)


def _tube(ledger: Reading, tube: Tube) -> Found:
    pouches = [one.value.serial for one in ledger.pouches_with(tube.serial)]
    return Found(
        kind="tube",
        name=tube.serial,
        facts=_known(
            ("size", f"{tube.size_ml} mL" if tube.size_ml is not None else None),
            ("preparation", tube.preparation),
            ("pouches", ", ".join(pouches)),
            ("labels", _labels(ledger, tube.serial)),
        ),
    )


def _pouch(ledger: Reading, pouch: Pouch) -> Found:
    return Found(
        kind="pouch",
        name=pouch.serial,
        facts=_known(
            ("tubes", ", ".join(pouch.tubes)),
            ("instruments", ", ".join(pouch.instruments)),
            ("material lot", pouch.material_lot),
            ("sealed", f"{pouch.sealed_on.isoformat()} by {pouch.sealed_by}"),
            ("labels", _labels(ledger, pouch.serial)),
        ),
    )


def _bottle(ledger: Reading, bottle: Bottle) -> Found:
    recorded = ledger.find_bottle(bottle.serial)
    preparations = ledger.preparations(bottle_thing=recorded.thing) if recorded else ()
    opened = bottle.opening and (bottle.opening.on.isoformat() if bottle.opening.on else "on an unknown day")
    return Found(
        kind="bottle",
        name=bottle.serial,
        facts=_known(
            ("product", f"{bottle.product.name} ({bottle.product.item_number}, {bottle.product.maker})"),
            ("batch", bottle.batch),
            (
                "expiry",
                f"{bottle.expiry.last_day.isoformat()} ({bottle.expiry.precision.value})"
                if bottle.expiry
                else "none stated",
            ),
            ("received", bottle.received_on.isoformat()),
            ("opened", opened or None),
            ("keeps after opening", str(bottle.period_after_opening) if bottle.period_after_opening else None),
            ("withdrawn", bottle.withdrawn_on.isoformat() if bottle.withdrawn_on else None),
            ("preparations", some(one.value.number for one in preparations)),
        ),
    )


def _preparation(ledger: Reading, preparation: Preparation) -> Found:
    serials = [one.value.serial for one in ledger.tubes_of(preparation.number)]
    return Found(
        kind="preparation",
        name=preparation.number,
        facts=_known(
            ("prepared", f"{preparation.prepared_on.isoformat()} by {preparation.prepared_by}"),
            ("variant", _VARIANTS[preparation.variant]),
            ("bottles", ", ".join(f"{bottle.serial} ({bottle.name})" for bottle in preparation.bottles)),
            ("batch on label", preparation.label_batch),
            ("tubes", f"{len(serials)}: {some(serials)}"),
        ),
    )


def _run(ledger: Reading, run: PrintRun) -> Found:
    labels = list(ledger.labels_of_run(run.number))
    voided = sum(one.value.voided_by is not None for one in labels)
    return Found(
        kind="print run",
        name=run.number,
        facts=_known(
            ("printed", run.printed_on.isoformat()),
            ("layout", run.layout),
            ("sheet", run.sheet),
            ("resolution", f"{run.dpi} dpi"),
            ("replaces", run.reprint_of),
            ("let through by", f"{run.override_by}: {run.override_reason}" if run.override_by else None),
            ("labels", f"{len(labels)}, {voided} of them voided"),
            ("file digest", run.proof_digest),
        ),
    )


def _product(ledger: Reading, product: Product) -> Found:
    thing = ledger.require_thing(product.as_name)
    bottles = (one.value for one in ledger.bottles(product_thing=thing))
    return Found(
        kind="product",
        name=product.item_number,
        facts=_known(
            ("product", product.name),
            ("maker", product.maker),
            ("carrier", in_words(product.carrier)),
            ("gtin", product.gtin),
            ("statement on resterilising", product.resterilising_statement or "none on file"),
            ("bottles", some(f"{bottle.serial} (batch {bottle.batch})" for bottle in bottles)),
        ),
    )


def _labels(ledger: Reading, serial: str) -> str:
    labels = [one.value for one in ledger.labels_with_serial(serial)]
    return ", ".join(
        f"{one.kind.value} in run {one.run}{f' (voided by {one.voided_by})' if one.voided_by else ''}" for one in labels
    )


def _known(*facts: tuple[str, str | None]) -> tuple[tuple[str, str], ...]:
    """Leave out what is not known."""
    return tuple((what, value) for what, value in facts if value)
