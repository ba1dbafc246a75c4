"""Enter a pigment, before its first bottle can be received."""

from tracelabels.custody import Product
from tracelabels.errors import InputError
from tracelabels.identifiers import as_gtin_14
from tracelabels.workflows.practice import Practice


def enter_product(practice: Practice, product: Product, *, by: str) -> Product:
    """Record a pigment and return it as recorded (a GTIN as 14 digits).

    Raises:
        InputError: name, item number or maker is empty.
        IdentifierError: the GTIN is none.
        LedgerError: this maker's item number is on record already.
    """
    for what, text in (("name", product.name), ("item number", product.item_number), ("maker", product.maker)):
        if not text.strip():
            raise InputError(given=f"an empty {what}", expected=f"the {what} as on the bottle", remedy="enter it")
    checked = Product(
        name=product.name.strip(),
        item_number=product.item_number.strip(),
        maker=product.maker.strip(),
        carrier=product.carrier,
        gtin=as_gtin_14(product.gtin) if product.gtin else None,
        swatch=product.swatch,
        resterilising_statement=product.resterilising_statement,
    )
    with practice.write(by=by) as ledger:
        ledger.add_product(checked)
    return checked


def require_product(practice: Practice, item_number: str, *, maker: str | None = None) -> Product:
    """Return the pigment with an item number.

    Raises:
        InputError: there is none, or several makers have that number and none was named.
    """
    with practice.ledger.read() as ledger:
        found = [one.value for one in ledger.products(item_number=item_number) if maker in (None, one.value.maker)]
    if len(found) == 1:
        return found[0]
    if found:
        makers = ", ".join(product.maker for product in found)
        raise InputError(
            given=f"item number {item_number!r}, which {makers} both have",
            expected="one maker",
            remedy="name the maker with --maker",
        )
    raise InputError(
        given=f"item number {item_number!r}",
        expected="a pigment that is on record",
        remedy="enter it first with 'tracelabels product'",
    )
