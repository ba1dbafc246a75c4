"""What is on record beside a chain: how its loads were processed and decided about, what was said of it since."""

from collections.abc import Mapping
from dataclasses import dataclass

from tracelabels.custody import Fate, Kind, Name
from tracelabels.records import FactId, Reading
from tracelabels.words import in_words
from tracelabels.workflows.chain_cards import Card, cards_of
from tracelabels.workflows.chain_graph import Said
from tracelabels.workflows.chain_notices import Notices, notices_of
from tracelabels.workflows.load_accounts import LoadAccount, accounts_of
from tracelabels.workflows.load_words import fate_of_load, marks_of_load, marks_of_pouches, say_result
from tracelabels.workflows.practice import Practice

_KEPT_BACK = "kept back"


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """What stands beside the chain itself."""

    loads: tuple[LoadAccount, ...]
    """Its loads, by number."""
    notices: Notices
    """Holds, recalls, adverse events."""
    cards: tuple[Card, ...]
    """All of it in words."""


def beside_chain(
    practice: Practice, ledger: Reading, names: Mapping[FactId, Name], *, asks_backward: bool, erased: set[FactId]
) -> tuple[Beside, Mapping[FactId, LoadAccount]]:
    """Collect what is on record beside a chain, in sets: 2,000 things take no more questions than 20.

    Args:
        practice: where.
        ledger: the state that was walked.
        names: what people call each thing of the chain.
        asks_backward: it was asked what a client was treated with: then all the client's adverse events are told,
            else only those linked with a use in the chain.
        erased: clients whose personal data was erased.
    """
    loads = [thing for thing, name in names.items() if name.kind is Kind.LOAD]
    clients = [thing for thing, name in names.items() if asks_backward and name.kind is Kind.CLIENT]
    accounts = accounts_of(ledger, loads, practice.settings.spore_policy)
    notices = notices_of(ledger, names, asked_about=clients, erased=erased)
    told = tuple(sorted(accounts.values(), key=lambda one: one.load.number))
    cards = cards_of(told, notices, practice.settings.zone)
    return Beside(loads=told, notices=notices, cards=cards), accounts


def said_of(fates: Mapping[FactId, Fate]) -> Said:
    """Say what became of bottles, tubes and pouches."""
    return Said(fates={thing: in_words(fate) for thing, fate in fates.items()}, marks={})


def said_beside(
    before: Said, names: Mapping[FactId, Name], beside: Beside, accounts: Mapping[FactId, LoadAccount]
) -> Said:
    """Add what became of loads and spore tests, what speaks for or against loads, and what is kept back."""
    results = {test.test: say_result(test) for one in beside.loads for test in one.spores.rode_along}
    tests = {
        thing: results[name.text]
        for thing, name in names.items()
        if name.kind is Kind.SPORE_TEST and name.text in results
    }
    decided = {thing: fate_of_load(account) for thing, account in accounts.items()}
    own = {one.load.as_name: marks_of_load(one) for one in beside.loads}
    for account in sorted(beside.loads, key=lambda one: one.load.started_at):
        own |= marks_of_pouches(account)
    held = beside.notices.kept_back
    marks = {thing: (*own.get(name, ()), *((_KEPT_BACK,) if name in held else ())) for thing, name in names.items()}
    return Said(fates={**before.fates, **decided, **tests}, marks=marks)
