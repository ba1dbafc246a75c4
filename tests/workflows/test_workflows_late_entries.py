"""What is entered late is judged as of the time when it happened, and nothing happens before what it follows on."""

from datetime import UTC, date, datetime
from decimal import Decimal

from chair_day import FINE, ChairDay

from tracelabels.custody import Expiry, ReasonKind
from tracelabels.workflows.fill_at_chair import FillOrder, fill_at_chair
from tracelabels.workflows.open_at_chair import PouchInHand, open_at_chair
from tracelabels.workflows.prepare_tubes import Part
from tracelabels.workflows.use_gate import Together, UsedItem
from tracelabels.workflows.use_on_client import UseOrder, use_on_client

DAY = date(2026, 12, 1)
YESTERDAY = datetime(2026, 11, 30, 12, tzinfo=UTC)


def test_a_bottle_is_judged_by_the_day_on_which_it_was_poured_from(opened, bottle):
    """It was good until yesterday: what was filled then is entered today, what is filled today is refused."""
    rosehip = bottle(ChairDay.begin(opened(YESTERDAY.date())).practice, expiry=Expiry.on_day(YESTERDAY.date()))
    day = ChairDay(practice=opened(DAY))
    then, now = day.ready(2)
    for pouch, at, against in ((then, YESTERDAY, []), (now, None, [ReasonKind.PAST_USE_BY])):
        hand = PouchInHand(seen=day.label_of(pouch), client="C-14", opening=FINE, at=at)
        open_at_chair(day.practice, hand, by="s1")
        parts = (Part(bottle=rosehip, amount_ml=Decimal(1)),)
        order = FillOrder(tubes=day.tubes_in(pouch), parts=parts, client="C-14", at=at)
        assert [one.kind for one in fill_at_chair(day.practice, order, by="s1").refused] == against
        direct = UseOrder(together=Together(client="C-14", items=(UsedItem(serial=rosehip),)), at=at)
        assert [one.kind for one in use_on_client(day.practice, direct, by="s1").reasons] == against
