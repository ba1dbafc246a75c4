"""What a question for a trace or a recall means: ``lot:MAKER/BATCH``, ``load:...``, ``client:...``, a bare number."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Final

from tracelabels.custody import AdverseEvent, ConsumableKind, Kind, Name, Recall, SporeTest, reach_backward
from tracelabels.errors import InputError
from tracelabels.records import FactId, Reading
from tracelabels.records.refusals import known
from tracelabels.sterilization import GrowthPolicy, RodeAlong, SporeResult, affected_interval, confirm_first
from tracelabels.words import in_words, local_minute
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.spore_record import rode_along, spore_history

Roots = Mapping[FactId, Kind]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """What a trace begins with."""

    question: str
    """The question, complete with its prefix."""
    roots: Roots
    """The things that it stands for."""
    notes: tuple[str, ...] = ()
    """What has to be said about it: the ends of an interval, what was taken for what."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    practice: Practice
    ledger: Reading
    text: str


def find_cause(practice: Practice, ledger: Reading, what: str) -> Cause:
    """Find the things that a question stands for.

    Args:
        practice: where.
        ledger: one state of its ledger.
        what: ``prefix:text``, or a bare text that names one thing only.

    Raises:
        InputError: nothing on record bears that name, or several things do.
    """
    prefix, colon, text = what.strip().partition(":")
    if colon and prefix in _FINDERS:
        found = _FINDERS[prefix](_Asked(practice=practice, ledger=ledger, text=text.strip()))
        if not found:
            raise _unknown(what)
        return _joined(f"{prefix}:{text.strip()}", found)
    candidates = _candidates(_Asked(practice=practice, ledger=ledger, text=what.strip()))
    if not candidates:
        raise _unknown(what)
    if len(candidates) > 1:
        raise InputError(
            given=f"{what!r}, which may mean {', '.join(one.question for one in candidates)}",
            expected="one of them",
            remedy="ask again with its prefix",
        )
    return candidates[0]


def _unknown(what: str) -> InputError:
    return InputError(
        given=f"{what!r}",
        expected=f"something on record, written as {', '.join(f'{one}:...' for one in _FINDERS)} or as a bare number",
        remedy="check it; nothing with this name stands in the ledger",
    )


def _joined(question: str, found: list[Cause]) -> Cause:
    roots = {thing: kind for one in found for thing, kind in one.roots.items()}
    notes = tuple(dict.fromkeys(note for one in found for note in one.notes))
    return Cause(question=question, roots=roots, notes=notes)


def _candidates(asked: _Asked) -> list[Cause]:
    found = [one for prefix in _BARE for one in _FINDERS[prefix](asked)]
    by_question: dict[str, list[Cause]] = {}
    for one in found:
        by_question.setdefault(one.question, []).append(one)
    return [_joined(question, causes) for question, causes in by_question.items()]


def _named(prefix: str, *kinds: Kind) -> Callable[[_Asked], list[Cause]]:
    """Return the finder of things that are named by a text alone."""

    def find(asked: _Asked) -> list[Cause]:
        found = []
        for kind in kinds:
            thing = asked.ledger.find_thing(Name(kind, asked.text)) if asked.text else None
            if thing is not None:
                found.append(Cause(question=f"{prefix}:{asked.text}", roots={thing: kind}))
        return found

    return find


def _lots(asked: _Asked) -> list[Cause]:
    """Find bottles of a maker's batch, and preparations with a batch of a diluent."""
    maker, slash, batch = asked.text.rpartition("/")
    ways = [(None, asked.text), *([(maker, batch)] if slash else [])]
    found = []
    for who, which in ways:
        for thing, made_by in asked.ledger.bottles_of_batch(which, maker=who):
            found.append(Cause(question=f"lot:{made_by}/{which}", roots={thing: Kind.BOTTLE}))
        for thing, called in asked.ledger.preparations_with_diluent(which, name=who):
            note = f"{called}, batch {which}, is a diluent: it is followed from the preparations on"
            found.append(Cause(question=f"lot:{called}/{which}", roots={thing: Kind.PREPARATION}, notes=(note,)))
    return found


def _consumables(asked: _Asked) -> list[Cause]:
    """Find a lot by kind and text, or by its text alone; a lot that was never entered by what bears it."""
    kind, slash, lot = asked.text.partition("/")
    if slash and kind in set(ConsumableKind):
        name = Name(Kind.CONSUMABLE, asked.text)
        thing = asked.ledger.find_thing(name)
        question = f"consumable:{asked.text}"
        if thing is not None:
            return [Cause(question=question, roots={thing: Kind.CONSUMABLE})]
        bearing = asked.ledger.things_with_lot(ConsumableKind(kind), lot)
        note = f"the lot {lot} was never entered; what bears its number is followed"
        return [Cause(question=question, roots=bearing, notes=(note,))] if bearing else []
    return [
        Cause(question=f"consumable:{kind.value}/{asked.text}", roots={thing: Kind.CONSUMABLE})
        for thing, kind in asked.ledger.lots_called(asked.text)
    ]


def _products(asked: _Asked) -> list[Cause]:
    if "/" in asked.text:
        return _named("product", Kind.PRODUCT)(asked)
    return [
        Cause(question=f"product:{one.value.maker}/{asked.text}", roots={one.thing: Kind.PRODUCT})
        for one in asked.ledger.products(item_number=asked.text)
    ]


def _spore_tests(asked: _Asked) -> list[Cause]:
    """Find a spore test; one that grew stands for every load that its growth reaches."""
    found = asked.ledger.find(SporeTest, asked.text)
    if found is None:
        return []
    question, test = f"bi:{asked.text}", rode_along(asked.ledger, found.value)
    if test.result is not SporeResult.GROWTH:
        said = "is not read yet" if test.result is None else f"showed {in_words(test.result)}"
        note = f"spore test {test.test} {said}; the load that it rode along in is followed"
        return [Cause(question=question, roots={found.thing: Kind.SPORE_TEST}, notes=(note,))]
    return [_growth(asked, question, test, found.value)]


def _growth(asked: _Asked, question: str, grown: RodeAlong, test: SporeTest) -> Cause:
    policy = asked.practice.settings.spore_policy
    history = spore_history(asked.ledger, test.steriliser, test.cycle_kind)
    reach = affected_interval(grown, history)
    process = f"steriliser {test.steriliser.text}, cycle kind {in_words(test.cycle_kind)}"
    notes = [
        f"growth in spore test {grown.test}, load {grown.load}: {process}",
        f"affected from: after {reach.after.name}{_at(asked.practice, reach.after.at)}",
        f"affected until: {reach.before.name}{_at(asked.practice, reach.before.at)}",
        f"policy: {in_words(policy.growth)}",
    ]
    if policy.growth is GrowthPolicy.CONFIRM_FIRST:
        notes.append(f"{confirm_first(grown, history).outcome.value}: {confirm_first(grown, history).sentence}")
        notes.append(f"protected care: {confirm_first(grown, history, is_protected=True).sentence}")
    steriliser = asked.ledger.require_thing(test.steriliser)
    loads = asked.ledger.loads_of_process(steriliser, test.cycle_kind)
    roots = {thing: Kind.LOAD for thing, number, at in loads if number == grown.load or reach.holds(number, at)}
    return Cause(question=question, roots=roots, notes=tuple(notes))


def _at(practice: Practice, moment: datetime | None) -> str:
    return "" if moment is None else f", {local_minute(moment, practice.settings.zone)}"


def _adverse_events(asked: _Asked) -> list[Cause]:
    """Find what an adverse event puts in doubt: every batch, load and lot behind what was used on that client."""
    found = asked.ledger.find(AdverseEvent, asked.text)
    if found is None:
        return []
    event, ledger = found.value, asked.ledger
    uses = tuple(ledger.require_thing(one) for one in event.uses)
    if uses:
        note = f"linked uses: {', '.join(one.text for one in event.uses)}"
    else:
        uses = ledger.uses_before(ledger.require_thing(event.client), _end_of_day(asked.practice, event))
        note = f"no use is linked: every use on {event.client} until the day of onset is taken ({len(uses)})"
    behind = reach_backward(dict.fromkeys(uses, Kind.USE), ledger.neighbours)
    roots = {thing: kind for thing, kind in behind.kinds.items() if kind in _SUSPECTS}
    for bottle in behind.of_kind(Kind.BOTTLE):
        found_bottle = ledger.find_bottle(ledger.name_of(bottle).text)
        value = known(found_bottle, what="bottle", name=str(bottle)).value
        roots |= {thing: Kind.BOTTLE for thing, _ in ledger.bottles_of_batch(value.batch, maker=value.product.maker)}
    roots |= dict.fromkeys(uses, Kind.USE)
    return [Cause(question=f"adverse:{asked.text}", roots=roots, notes=(note,))]


_SUSPECTS: Final = frozenset({Kind.BOTTLE, Kind.PREPARATION, Kind.TUBE, Kind.POUCH, Kind.LOAD})


def _end_of_day(practice: Practice, event: AdverseEvent) -> datetime:
    following = event.onset + timedelta(days=1)
    return datetime.combine(following, time(), tzinfo=practice.settings.zone)


def _recalls(asked: _Asked) -> list[Cause]:
    found = asked.ledger.find(Recall, asked.text)
    if found is None:
        return []
    roots = {asked.ledger.require_thing(one): one.kind for one in found.value.roots}
    note = f"recall {found.value.number}: {found.value.cause}"
    return [Cause(question=f"recall:{asked.text}", roots=roots, notes=(note,))]


_FINDERS: Final[Mapping[str, Callable[[_Asked], list[Cause]]]] = {
    "serial": _named("serial", Kind.TUBE, Kind.POUCH, Kind.BOTTLE),
    "lot": _lots,
    "load": _named("load", Kind.LOAD),
    "client": _named("client", Kind.CLIENT),
    "printrun": _named("printrun", Kind.PRINT_RUN),
    "consumable": _consumables,
    "bi": _spore_tests,
    "preparation": _named("preparation", Kind.PREPARATION),
    "use": _named("use", Kind.USE),
    "incident": _named("incident", Kind.INCIDENT),
    "adverse": _adverse_events,
    "recall": _recalls,
    "product": _products,
    "steriliser": _named("steriliser", Kind.STERILISER),
}
_BARE: Final = tuple(_FINDERS)
