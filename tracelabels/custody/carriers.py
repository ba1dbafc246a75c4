"""May a pigment be filled into tubes before they are processed?

Steam works where it touches: it does not sterilise oil or a liquid without water, and heat makes alcohol a hazard.
Only the maker can support that a pigment is heated again, and only a liquid cycle validated for that fill counts.
"""

from collections.abc import Iterable

from tracelabels.custody.bottles import Carrier, Product
from tracelabels.custody.policy import Policy
from tracelabels.custody.reasons import Reason, ReasonKind

_REFUSALS = {
    Carrier.OIL_OR_ANHYDROUS: "is oil-based or has no water: steam does not sterilise it",
    Carrier.ALCOHOL_BEARING: "bears alcohol: alcohol-bearing pigment does not go into a steriliser",
    Carrier.UNKNOWN: "has an unknown carrier: refused until it is known",
}


def refusals_before_processing(products: Iterable[Product], policy: Policy) -> tuple[Reason, ...]:
    """Return every reason against filling these pigments before processing; none means it may be done.

    Args:
        products: the pigments that go in.
        policy: the practice's policy, with the liquid cycle on file if there is one.
    """
    reasons: list[Reason] = []
    for product in dict.fromkeys(products):
        if product.carrier in _REFUSALS:
            sentence = f"{product.name} {_REFUSALS[product.carrier]}"
            reasons.append(Reason(kind=ReasonKind.CARRIER_REFUSED, sentence=sentence))
        if product.resterilising_statement is None:
            sentence = f"no written statement of {product.maker} on re-sterilising {product.name} is on file"
            reasons.append(Reason(kind=ReasonKind.NO_MAKER_STATEMENT, sentence=sentence))
    if policy.liquid_cycle is None:
        sentence = "no liquid cycle validated for filled tubes is on file"
        reasons.append(Reason(kind=ReasonKind.NO_LIQUID_CYCLE, sentence=sentence))
    return tuple(reasons)
