"""Histories that are told step by step over the machine's own rules: what random ones meet only now and then.

Each was seen to fail when the rule that it is about was broken in the package; what is compared is the machine's.
"""

from datetime import timedelta

from chain_chair import FINE, Happened
from chain_loads import AIR, OTHER, TYPE_N
from chain_machine import ChainMachine

from tracelabels.custody import Goods, Kind, Name, Outcome, PlaceKind, RecallStep, SporeResult, Variant

LATE = timedelta(hours=26)


def _packed(machine: ChainMachine) -> str:
    machine.tick()
    pouch = machine.pack((), ("forceps",), "PF-1")
    machine.print_labels(pouch)
    return pouch


def two_sterilisers(machine: ChainMachine) -> None:
    """A type N cycle takes no pouch; its growth reaches no other kind of cycle and no other steriliser."""
    for process in (OTHER, TYPE_N):
        machine.test_loads_pass(times=1, process=process)
    assert machine.start((_packed(machine),), TYPE_N, None, goods=Goods.WRAPPED) is None
    assert machine.start((_packed(machine),), OTHER, None) is not None
    grown = machine.start((), TYPE_N, machine.spore_order("yes"))
    machine.end(grown, Outcome.COMPLETE)
    machine.spore_result(machine.tests_of(grown)[0], SporeResult.GROWTH)
    assert machine.start((_packed(machine),), OTHER, None) is not None
    machine.the_steriliser_is_repaired(steriliser="S2", late=LATE)
    assert machine.start((_packed(machine),), OTHER, None) is None
    machine.the_steriliser_is_returned(process=TYPE_N, of_all=False, override=None, late=None)
    assert machine.model.returned == []


def entered_late(machine: ChainMachine) -> None:
    """A visit of yesterday with a bottle that was good until then; a load, a move, an outage before others."""
    machine.a_day_of_work(bottle=0, is_filled=False, in_one=1)
    machine.tick(days=1)
    bottle = machine.receive(product=0, batch="77", lasts=0, keeps=None, opened="today")
    machine.tick(days=1)
    pouch = next(one for one in machine._fresh() if machine.model.pouches[one].tubes and not machine._is_filled(one))
    machine.open_pouch(pouch, "C-1", FINE, LATE)
    (tube, *_) = machine.model.pouches[pouch].tubes
    machine.fill(tube, bottle, "C-1", LATE)
    assert machine.model.tubes[tube].filled is not None
    machine.use((tube,), "C-1", None, is_seen=False, happened=Happened(late=LATE))
    outage = Happened(is_outage=True, late=timedelta(days=3))
    machine.use((pouch,), "C-2", None, is_seen=True, happened=outage)
    again = _packed(machine)
    machine.tick(hours=5)
    aborted = machine.start((again,), AIR, machine.spore_order("yes"))
    machine.end(aborted, Outcome.ABORTED)
    machine.tick(hours=2)
    assert machine.start((again,), AIR, None, at=machine.moment(timedelta(hours=4))) is not None
    which = [one.text for one in machine.model.items].index(again)
    machine.a_thing_is_moved(pick=which, kind=PlaceKind.LOST, late=None)
    machine.a_thing_is_moved(pick=0, kind=PlaceKind.SHELF, late=LATE)
    assert len(machine.model.moves[Name(Kind.POUCH, again)]) == 2


def good_until_yesterday(machine: ChainMachine) -> None:
    """A pouch opened on its last day, entered on the day after."""
    tubes = machine.prepare(Variant.EMPTY_TUBES, 1, ())
    pouch = machine.pack(tubes, (), "PF-1")
    machine.print_labels(pouch)
    day = machine.now.date()
    machine.a_load_goes_well(most=3, test="yes", result=SporeResult.NO_GROWTH, release=True, second=False)
    while (machine.now.date() - day).days <= machine.model.rules.limit_days:
        machine.tick(days=1)
    machine.open_pouch(pouch, "C-1", FINE, timedelta(days=1))


def erased_at_last(machine: ChainMachine) -> None:
    """An adverse event, then a recall stand against it; a late use brings another client into the recall."""
    machine.tick(days=1)
    machine.something_went_wrong(pick=0, before=0, is_filed=True)
    machine.erase("C-1")
    machine.it_healed(pick=0)
    machine.tick(days=1)
    lot = [question.partition(":")[0] for question, _ in machine.questions()].index("lot")
    machine.a_recall_is_recorded(pick=lot)
    machine.erase("C-1")
    (recall,) = machine.model.recalls.values()
    (bottle,) = machine.model.bottles
    machine.use((bottle,), "C-2", None, is_seen=True, happened=Happened(is_outage=True, late=LATE))
    machine.tick(days=2)
    machine.erase("C-2")
    for step, client in (
        (RecallStep.CLOSED, "C-1"),
        (RecallStep.CLIENT_REACHED, "C-1"),
        (RecallStep.CLIENT_REACHED, "C-2"),
        (RecallStep.CLOSED, "C-1"),
        (RecallStep.CLIENT_UNREACHABLE, "C-1"),
    ):
        machine.take_step(recall, step, client)
    machine.tick(days=1)
    machine.erase("C-1")
    assert machine.model.erased == {"C-1"}
    machine.use((bottle,), "C-1", None, is_seen=True, happened=Happened(is_forced=True))
    machine.a_recall_is_recorded(pick=lot)
    _tap_all(machine)


def tapped_again(machine: ChainMachine) -> None:
    """An opening is corrected, a use taken back; then every tap comes again."""
    machine.an_opening_is_corrected(pick=0, answers=(True, False, True))
    (bottle,), (pouch, *_) = machine.model.bottles, machine.model.openings
    machine.use((bottle,), "C-1", None, is_seen=True)
    machine.a_use_is_taken_back(pick=0)
    assert machine.taken_back
    machine.open_pouch(pouch, "C-2", FINE)
    _tap_all(machine)


def _tap_all(machine: ChainMachine) -> None:
    for number in range(len(machine.taps)):
        machine.tap_again(number)


TOLD = (two_sterilisers, entered_late, good_until_yesterday, erased_at_last, tapped_again)
