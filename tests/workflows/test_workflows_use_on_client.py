"""At the chair: opened, filled, used, met twice, during an outage, destroyed; what is recorded and what is told."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from chair_day import FINE, ChairDay

from tracelabels.custody import (
    CareLevel,
    Consumable,
    ConsumableKind,
    Destroyed,
    Expiry,
    Incident,
    IncidentKind,
    Kind,
    Name,
    PlaceKind,
    PouchOpening,
    ReasonKind,
    SeenLabel,
    Use,
    Variant,
    Verdict,
)
from tracelabels.errors import InputError, LedgerError
from tracelabels.identifiers import format_serial
from tracelabels.workflows.check_at_chair import check_typed
from tracelabels.workflows.destroy_item import DestructionOrder, destroy_item
from tracelabels.workflows.enter_consumable import enter_consumable
from tracelabels.workflows.fill_at_chair import FillOrder, fill_at_chair
from tracelabels.workflows.hold_stock import lift_hold, put_hold
from tracelabels.workflows.label_contents import ContentWriter
from tracelabels.workflows.move_item import MoveOrder, move_items
from tracelabels.workflows.open_at_chair import PouchInHand, open_at_chair
from tracelabels.workflows.prepare_tubes import Part
from tracelabels.workflows.receive_bottle import open_bottle, withdraw_bottle
from tracelabels.workflows.register_client import Personal, register_client, set_care_level, show_client
from tracelabels.workflows.report_adverse_event import (
    AdverseReport,
    Progress,
    follow_adverse_event,
    report_adverse_event,
)
from tracelabels.workflows.report_incident import IncidentReport, report_incident
from tracelabels.workflows.use_gate import Together, UsedItem
from tracelabels.workflows.use_on_client import UseOrder, use_on_client

DAY = date(2026, 12, 1)
NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)


@pytest.fixture
def day(opened) -> ChairDay:
    return ChairDay.begin(opened(DAY))


def facts(here: ChairDay, kind: type) -> list:
    with here.practice.ledger.read() as ledger:
        return [one.value for one in ledger.every(kind)]


def said(done) -> list[str]:
    return [one.sentence for one in done.reasons]


def opens(here: ChairDay, pouch: str, *, client: str = "C-14", key: str | None = None, **changes: object):
    hand = PouchInHand(seen=here.label_of(pouch), client=client, opening=replace(FINE, **changes))
    return open_at_chair(here.practice, hand, by="s1", request_key=key)


def fills(here: ChairDay, bottle: str, *tubes: str, client: str = "C-14", key: str | None = None, at=None):
    parts = (Part(bottle=bottle, amount_ml=Decimal("0.4")),)
    order = FillOrder(tubes=tubes, parts=parts, client=client, fill_ml=Decimal("0.4"), at=at)
    return fill_at_chair(here.practice, order, by="s1", request_key=key)


def order_of(*items: str | UsedItem, client: str = "C-14", opening=None, consumables=(), **facts: object) -> UseOrder:
    named = tuple(one if isinstance(one, UsedItem) else UsedItem(serial=one) for one in items)
    together = Together(client=client, items=named, opening=opening, consumables=consumables)
    return UseOrder(together=together, **facts)


def test_from_the_sealed_pouch_to_the_client(day, bottle):
    rosehip = bottle(day.practice)
    (pouch,) = day.ready()
    (tube,) = day.tubes_in(pouch)
    opened_ = opens(day, pouch)
    assert (opened_.verdict, opened_.reasons, opened_.opening.client) == (Verdict.GO, (), Name(Kind.CLIENT, "C-14"))
    filled = fills(day, rosehip, tube)
    assert filled.refused == ()
    assert (filled.preparation.variant, filled.preparation.label_batch) == (Variant.FILLED_AT_CHAIR, "5501")
    assert filled.dating.use_by.date == DAY
    with day.practice.ledger.read() as ledger:
        second = ContentWriter(day.practice, ledger).content_of(tube, is_second=True)
    assert (second.identity.lot, second.identity.use_by, second.identity.prepared) == ("5501", DAY, DAY)
    assert (second.product, second.identity.serial) == ("Rosehip", tube)
    done = use_on_client(day.practice, order_of(tube, procedure="scar camouflage", side="left"), by="s1")
    assert (done.verdict, done.reasons, done.incidents) == (Verdict.GO, (), ())
    assert done.use.items == (Name(Kind.TUBE, tube), Name(Kind.POUCH, pouch))
    assert (done.use.number, done.use.practitioner, done.use.procedure) == ("U01-000001", "s1", "scar camouflage")
    with day.practice.ledger.read() as ledger:
        at = ledger.find(Use, "U01-000001").fact
        assert ledger.claims("used", Name(Kind.POUCH, pouch)) == (at,)
        assert ledger.claims("used", Name(Kind.TUBE, tube)) == (at,)
    assert day.practice.ledger.verify() == []


def test_a_second_chair_is_told_who_and_when(day):
    (pouch,) = day.ready()
    assert opens(day, pouch).verdict is Verdict.GO
    again = opens(day, pouch, client="C-15")
    assert (again.opening, again.verdict) == (None, Verdict.STOP)
    assert f"pouch {pouch} was opened on 2026-12-01 at 12:00 by s1 for client C-14" in said(again)
    assert len(facts(day, PouchOpening)) == 1


def test_what_was_seen_at_opening_is_recorded_and_cannot_be_answered_away(day):
    (pouch,) = day.ready()
    wet = opens(day, pouch, dry=False)
    assert (wet.verdict, wet.opening.dry, wet.opening.reasons) == (Verdict.STOP, False, ("the pouch is wet",))
    later = check_typed(day.practice, day.label_of(pouch), client="C-14", opening=FINE)
    assert (later.verdict, said(later)) == (Verdict.STOP, ["the pouch is wet"])


def test_the_same_tap_twice_is_one_opening_one_filling_one_use(day, bottle):
    rosehip = bottle(day.practice)
    (pouch,) = day.ready()
    (tube,) = day.tubes_in(pouch)
    assert opens(day, pouch, key="tap-1") == opens(day, pouch, key="tap-1")
    assert fills(day, rosehip, tube, key="tap-2") == fills(day, rosehip, tube, key="tap-2")
    order = order_of(tube)
    first = use_on_client(day.practice, order, by="s1", request_key="tap-3")
    assert first == use_on_client(day.practice, order, by="s1", request_key="tap-3")
    assert (len(facts(day, PouchOpening)), facts(day, Use)) == (1, [first.use])
    for key in ("tap-1", "tap-2"):
        with pytest.raises(InputError, match="under which something else was recorded"):
            use_on_client(day.practice, order, by="s1", request_key=key)


def test_an_empty_tube_is_not_used_and_a_tube_is_filled_once_from_an_opened_pouch(day, bottle):
    rosehip = bottle(day.practice)
    (pouch,) = day.ready()
    (tube,) = day.tubes_in(pouch)
    refused = fills(day, rosehip, tube)
    assert [one.kind for one in refused.refused] == [ReasonKind.OPENING_UNCHECKED, ReasonKind.NOT_OPENED]
    opens(day, pouch)
    empty = use_on_client(day.practice, order_of(pouch), by="s1")
    assert (empty.use, [one.kind for one in empty.reasons]) == (None, [ReasonKind.NOT_FILLED])
    assert fills(day, rosehip, tube).refused == ()
    again = fills(day, rosehip, tube)
    assert [one.kind for one in again.refused] == [ReasonKind.ALREADY_FILLED]


def test_a_bottle_that_does_not_pass_its_own_gate_fills_nothing(day, bottle):
    closed = bottle(day.practice, is_open=False)
    held = bottle(day.practice)
    hold = put_hold(day.practice, [Name(Kind.BOTTLE, held)], reason="the maker's notice", by="lead")
    (pouch,) = day.ready()
    (tube,) = day.tubes_in(pouch)
    opens(day, pouch)
    assert [one.kind for one in fills(day, closed, tube).refused] == [ReasonKind.NOT_OPENED]
    assert [one.kind for one in fills(day, held, tube).refused] == [ReasonKind.HELD]
    lift_hold(day.practice, hold.number, by="lead", reason="the maker was asked")
    assert fills(day, held, tube).refused == ()


def test_a_filling_entered_late_is_judged_by_the_bottle_as_it_was_then(day, bottle, opened):
    last_day, withdrawn, held, gone = (bottle(day.practice, expiry=Expiry.on_day(DAY)) for _ in range(4))
    closed = bottle(day.practice, is_open=False)
    (pouch,) = day.ready(tubes_in_one=5)
    opens(day, pouch)
    later = ChairDay(practice=opened(date(2026, 12, 2)))
    withdraw_bottle(later.practice, withdrawn, by="lead", reason="a doubt")
    put_hold(later.practice, [Name(Kind.BOTTLE, held)], reason="the maker's notice", by="lead")
    order = DestructionOrder(serial=gone, what=Destroyed.WHOLE, how="burnt")
    destroy_item(later.practice, order, by="lead")
    open_bottle(later.practice, closed, by="lead")
    said_of = {
        serial: [one.kind for one in fills(later, serial, tube, at=NOON).refused]
        for serial, tube in zip((last_day, withdrawn, held, gone, closed), day.tubes_in(pouch), strict=True)
    }
    assert said_of == {last_day: [], withdrawn: [], held: [], gone: [], closed: [ReasonKind.NOT_OPENED]}
    (today, *_) = day.tubes_in(later.ready()[0])
    assert {ReasonKind.PAST_USE_BY, ReasonKind.HELD} <= {one.kind for one in fills(later, held, today).refused}


def test_a_hold_on_what_was_filled_in_reaches_the_tube_at_once(day, bottle):
    rosehip = bottle(day.practice)
    (pouch,) = day.ready()
    (tube,) = day.tubes_in(pouch)
    opens(day, pouch)
    fills(day, rosehip, tube)
    put_hold(day.practice, [Name(Kind.BOTTLE, rosehip)], reason="the maker's notice", by="lead")
    done = use_on_client(day.practice, order_of(tube), by="s1")
    assert (done.use, [one.kind for one in done.reasons]) == (None, [ReasonKind.HELD])


def test_the_session_ends_with_the_day(day, bottle, opened):
    rosehip = bottle(day.practice)
    (pouch,) = day.ready()
    (tube,) = day.tubes_in(pouch)
    opens(day, pouch)
    fills(day, rosehip, tube)
    tomorrow = ChairDay(practice=opened(date(2026, 12, 2)))
    done = use_on_client(tomorrow.practice, order_of(tube), by="s1")
    kinds = {one.kind for one in done.reasons}
    assert (done.use, done.verdict) == (None, Verdict.STOP)
    assert {ReasonKind.ALREADY_OPENED, ReasonKind.PAST_USE_BY} <= kinds


def test_two_tubes_of_one_pouch_for_one_client_and_none_for_another(day, bottle):
    rosehip = bottle(day.practice)
    (pouch,) = day.ready(tubes_in_one=2)
    one, other = day.tubes_in(pouch)
    opens(day, pouch)
    fills(day, rosehip, one, other)
    assert use_on_client(day.practice, order_of(one), by="s1").use is not None
    stranger = use_on_client(day.practice, order_of(other, client="C-15"), by="s2")
    assert (stranger.use, stranger.verdict) == (None, Verdict.STOP)
    assert any(f"pouch {pouch} was used on 2026-12-01 at 12:00 by s1 for client C-14" in one for one in said(stranger))
    assert use_on_client(day.practice, order_of(other), by="s1").use is not None
    assert use_on_client(day.practice, order_of(one), by="s1").use is None


def test_a_reason_that_several_things_share_is_said_once_with_all_of_them(day, bottle):
    rosehip = bottle(day.practice)
    (pouch,) = day.ready(tubes_in_one=2)
    one, other = day.tubes_in(pouch)
    shared = f"tube {one}, tube {other}: no opening of its pouch with GO is recorded for client C-14"
    assert sum(sentence.sentence.startswith(shared) for sentence in fills(day, rosehip, one, other).refused) == 1
    opens(day, pouch)
    fills(day, rosehip, one, other)
    put_hold(day.practice, [Name(Kind.BOTTLE, rosehip)], reason="the maker's notice", by="lead")
    withdraw_bottle(day.practice, rosehip, by="lead", reason="a doubt")
    assert said(use_on_client(day.practice, order_of(one, other), by="s1")) == [
        f"tube {one}, tube {other}: Rosehip, batch 5501 was withdrawn on 2026-12-01",
        (
            f"tube {one}, tube {other}: it, or what it comes from or went with, is kept back by hold H01-0001 "
            "(quarantine): the maker's notice"
        ),
    ]


def test_a_use_against_stop_is_refused_and_recorded_when_it_happened(day):
    (pouch,) = day.instruments(1)
    day.labelled(pouch)
    day.load(pouch, release=False)
    order = order_of(UsedItem(serial=pouch, seen=(day.label_of(pouch),)), opening=FINE)
    refused = use_on_client(day.practice, order, by="s1")
    assert (refused.use, refused.verdict) == (None, Verdict.STOP)
    assert said(refused) == [f"pouch {pouch}: no release of its steriliser load is recorded"]
    assert (facts(day, Use), facts(day, PouchOpening)) == ([], [])
    done = use_on_client(day.practice, replace(order, happened="opened by mistake, noticed after"), by="s1")
    (incident,) = done.incidents
    assert (incident.kind, incident.use) == (IncidentKind.USED_AGAINST_STOP, done.use.as_name)
    assert (incident.reasons, incident.account) == (tuple(said(refused)), "opened by mistake, noticed after")
    assert (done.use.verdict, done.use.reasons) == (Verdict.STOP, tuple(said(refused)))
    assert facts(day, Incident) == [incident]


def test_what_was_used_during_an_outage_is_entered_late_with_no_verdict(day):
    (pouch,) = day.instruments(1)
    day.labelled(pouch)
    day.load(pouch)
    earlier = datetime(2026, 11, 30, 9, 15, tzinfo=UTC)
    done = use_on_client(day.practice, order_of(pouch, is_outage=True, at=earlier), by="s1")
    assert (done.use.verdict, done.use.at) == (None, earlier)
    assert [one.kind for one in done.incidents] == [IncidentKind.USED_DURING_OUTAGE]
    with day.practice.ledger.read() as ledger:
        fact = ledger.find_fact(ledger.find(Use, done.use.number).fact)
    assert fact.happened_at == earlier
    assert abs((datetime.now(UTC) - fact.recorded_at).total_seconds()) < 600


def test_a_second_client_is_an_incident_and_no_second_claim(day):
    (pouch,) = day.instruments(1)
    day.labelled(pouch)
    day.load(pouch)
    seen = UsedItem(serial=pouch, seen=(day.label_of(pouch),))
    first = use_on_client(day.practice, order_of(seen, opening=FINE), by="s1")
    assert first.use is not None
    late = order_of(seen, client="C-15", opening=FINE, happened="two pouches with one serial")
    second = use_on_client(day.practice, late, by="s2")
    kinds = [one.kind for one in second.incidents]
    assert kinds == [IncidentKind.USED_AGAINST_STOP, IncidentKind.USED_TWICE]
    with day.practice.ledger.read() as ledger:
        (claim,) = ledger.claims("used", Name(Kind.POUCH, pouch))
        assert claim == ledger.find(Use, first.use.number).fact
    assert len(facts(day, Use)) == 2


def test_a_client_who_had_it_first_and_again_after_another_one_is_an_incident_too(day):
    (pouch,) = day.instruments(1)
    day.labelled(pouch)
    day.load(pouch)
    seen = UsedItem(serial=pouch, seen=(day.label_of(pouch),))
    use_on_client(day.practice, order_of(seen, opening=FINE), by="s1")
    for client in ("C-15", None):
        who = {} if client is None else {"client": client}
        again = order_of(seen, opening=FINE, happened="met once more", **who)
        done = use_on_client(day.practice, again, by="s2")
    assert IncidentKind.USED_TWICE in [one.kind for one in done.incidents]


def test_a_use_that_was_taken_back_can_be_followed_by_a_true_one(day):
    (pouch,) = day.instruments(1)
    day.labelled(pouch)
    day.load(pouch)
    order = order_of(UsedItem(serial=pouch, seen=(day.label_of(pouch),)), opening=FINE)
    wrong = use_on_client(day.practice, order, by="s1")
    assert use_on_client(day.practice, order, by="s1").use is None
    with day.practice.write(by="lead") as ledger:
        ledger.retract(ledger.require(Use, wrong.use.number).thing, reason="the wrong client was chosen")
        (opening,) = ledger.every(PouchOpening)
        ledger.retract(opening.thing, reason="the wrong client was chosen")
    seen = UsedItem(serial=pouch, seen=(day.label_of(pouch),))
    true = use_on_client(day.practice, order_of(seen, client="C-15", opening=FINE), by="s1")
    assert (true.use.number, true.reasons) == ("U01-000002", ())
    with day.practice.ledger.read() as ledger:
        assert ledger.claims("used", Name(Kind.POUCH, pouch)) == (ledger.find(Use, "U01-000002").fact,)


def test_bottles_and_lots_used_directly(day, bottle):
    rosehip = bottle(day.practice)
    for lot, expiry in (("NC-1", date(2027, 1, 1)), ("NC-2", date(2026, 11, 30))):
        value = Consumable(kind=ConsumableKind.NEEDLE_CARTRIDGES, lot=lot, expiry=expiry)
        enter_consumable(day.practice, value, by="bench", in_use_from=date(2026, 11, 1))
    old = use_on_client(day.practice, order_of(rosehip, consumables=("needle_cartridges/NC-2",)), by="s1")
    assert said(old) == ["consumable needle_cartridges/NC-2: it was good until 2026-11-30"]
    protected = use_on_client(day.practice, order_of(rosehip, client="C-15"), by="s1")
    assert [one.kind for one in protected.reasons] == [ReasonKind.PROTECTED_FROM_BOTTLE]
    done = use_on_client(day.practice, order_of(rosehip, consumables=("needle_cartridges/NC-1",)), by="s1")
    assert done.use.items == (Name(Kind.BOTTLE, rosehip), Name(Kind.CONSUMABLE, "needle_cartridges/NC-1"))


def test_a_typed_serial_is_no_go_until_the_label_is_entered(day):
    (pouch,) = day.ready()
    bare = check_typed(day.practice, SeenLabel(serial=pouch), client="C-14", opening=FINE)
    assert (bare.verdict, [one.kind for one in bare.reasons]) == (Verdict.PRELIMINARY, [ReasonKind.LABEL_INCOMPLETE])
    label = day.label_of(pouch)
    wrong = check_typed(day.practice, replace(label, use_by=date(2027, 1, 1)), client="C-14", opening=FINE)
    assert [one.kind for one in wrong.reasons] == [ReasonKind.LABEL_DIFFERS]
    whole = check_typed(day.practice, label, client="C-14", opening=FINE)
    assert (whole.verdict, whole.reasons) == (Verdict.GO, ())
    assert check_typed(day.practice, label).verdict is Verdict.PRELIMINARY


def test_the_tube_in_the_pouch_has_to_be_the_tube_recorded(day):
    one, other = day.ready(2)
    (stranger,) = day.tubes_in(other)
    found = check_typed(day.practice, day.label_of(one), client="C-14", opening=FINE, found_with=(stranger,))
    assert [reason.kind for reason in found.reasons] == [ReasonKind.TUBE_NOT_IN_POUCH]


def test_protected_care_asks_for_a_spore_test_in_the_very_load(day):
    (first,) = day.ready()
    (pouch,) = day.instruments(1)
    day.labelled(pouch)
    day.load(pouch, hours=30, with_test=False)
    for client, verdict in (("C-14", Verdict.GO), ("C-15", Verdict.STOP)):
        assert check_typed(day.practice, day.label_of(pouch), client=client, opening=FINE).verdict is verdict
    assert check_typed(day.practice, day.label_of(first), client="C-15", opening=FINE).verdict is Verdict.GO
    set_care_level(day.practice, "C-14", CareLevel.PROTECTED, reason="chemotherapy began", by="lead")
    assert check_typed(day.practice, day.label_of(pouch), client="C-14", opening=FINE).verdict is Verdict.STOP


@pytest.mark.parametrize("kind", [PlaceKind.LOST, PlaceKind.GIVEN_AWAY])
def test_what_is_lost_or_given_away_is_stop_until_it_is_back(day, kind):
    (pouch,) = day.ready()
    move_items(day.practice, MoveOrder(items=(pouch,), kind=kind, place="the other practice"), by="bench")
    gone = check_typed(day.practice, day.label_of(pouch), client="C-14", opening=FINE)
    assert [one.kind.value for one in gone.reasons] == [kind.value]
    move_items(day.practice, MoveOrder(items=(pouch,), kind=PlaceKind.SHELF, place="A3"), by="bench")
    assert check_typed(day.practice, day.label_of(pouch), client="C-14", opening=FINE).verdict is Verdict.GO


def test_what_is_destroyed_is_stop_and_destroyed_once(day):
    (pouch,) = day.ready()
    order = DestructionOrder(serial=pouch, what=Destroyed.WHOLE, how="sharps box")
    done = destroy_item(day.practice, order, by="bench", request_key="k")
    assert destroy_item(day.practice, order, by="bench", request_key="k") == done
    found = check_typed(day.practice, day.label_of(pouch), client="C-14", opening=FINE)
    assert said(found) == [f"pouch {pouch} was destroyed on 2026-12-01 at 12:00 by bench: sharps box"]
    with pytest.raises(LedgerError, match="which was destroyed before"):
        destroy_item(day.practice, order, by="bench")


def test_a_duplicate_label_met_casts_doubt_on_both(day):
    (pouch,) = day.ready()
    report = IncidentReport(kind=IncidentKind.DUPLICATE_LABEL, account="two pouches", items=(Name(Kind.POUCH, pouch),))
    incident = report_incident(day.practice, report, by="s1", request_key="i")
    assert report_incident(day.practice, report, by="s1", request_key="i") == incident
    found = check_typed(day.practice, day.label_of(pouch), client="C-14", opening=FINE)
    assert [one.kind for one in found.reasons] == [ReasonKind.IN_DOUBT]


def test_an_adverse_event_is_linked_with_every_use_before_it_and_closed_later(day):
    (pouch,) = day.instruments(1)
    day.labelled(pouch)
    day.load(pouch)
    seen = UsedItem(serial=pouch, seen=(day.label_of(pouch),))
    use = use_on_client(day.practice, order_of(seen, opening=FINE), by="s1").use
    report = AdverseReport(client="C-14", onset=DAY, what="redness", report_due=date(2026, 12, 10))
    event = report_adverse_event(day.practice, report, by="lead", request_key="a")
    assert report_adverse_event(day.practice, report, by="lead", request_key="a") == event
    assert (event.number, event.uses, event.report_due) == ("A01-0001", (use.as_name,), date(2026, 12, 10))
    progress = Progress(report_sent=DAY, closed_on=DAY, culture="no growth")
    closed = follow_adverse_event(day.practice, "A01-0001", progress, reason="healed", by="lead")
    assert (closed.closed_on, closed.culture, closed.what) == (DAY, "no growth", "redness")
    with pytest.raises(InputError, match="still to come"):
        follow_adverse_event(day.practice, "A01-0001", Progress(closed_on=date(2026, 12, 2)), reason="x", by="lead")


def test_a_client_is_a_code_and_the_rest_is_sealed(day):
    personal = Personal(name="Not A Real Name", contact="by post")
    made = register_client(
        day.practice, care_level=None, by="lead", personal=personal, random_bytes=lambda count: bytes(range(count))
    )
    assert (made.code, made.is_protected) == ("C-234567", True)
    shown = show_client(day.practice, made.code)
    assert (shown.client.name, shown.is_erased) == ("Not A Real Name", False)
    assert b"Not A Real Name" not in (day.practice.folder / "ledger.sqlite").read_bytes()
    with pytest.raises(LedgerError):
        register_client(day.practice, code="C-14", care_level=None, by="lead")
    with pytest.raises(InputError, match="client code"):
        register_client(day.practice, code="Jane Doe", care_level=None, by="lead")


def test_a_thing_that_is_not_on_record_cannot_be_used_but_reported(day):
    with pytest.raises(LedgerError, match="report an incident with an account of it"):
        use_on_client(day.practice, order_of(format_serial(97, 4242), happened="it was in the drawer"), by="s1")
    with pytest.raises(LedgerError):
        use_on_client(day.practice, order_of(day.ready()[0], client="C-99", happened="x"), by="s1")
