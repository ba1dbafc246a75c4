"""The machine's rules of clients: registered, cared for, an adverse event, erased; and what must be gone afterwards."""

from dataclasses import replace
from datetime import date, timedelta

from chain_after import AfterRules
from chain_bench import picks
from chain_chair import personal
from chain_model import AnEvent
from chain_practice import chosen
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from tracelabels.custody import AdverseEvent, CareLevel, Client, Evidence, Kind, Name, ReasonKind, Use
from tracelabels.errors import InputError
from tracelabels.workflows.erase_client import erase_client
from tracelabels.workflows.keep_evidence import keep_evidence, open_evidence
from tracelabels.workflows.register_client import Personal, register_client, set_care_level, show_client
from tracelabels.workflows.report_adverse_event import (
    AdverseReport,
    Progress,
    follow_adverse_event,
    report_adverse_event,
)
from tracelabels.workflows.verify_records import verify_records

DUE = timedelta(days=10)


class ClientRules(AfterRules):
    """Who was treated, and what is kept of them."""

    @precondition(lambda self: len(self.model.clients) < 4)
    @rule(care=st.sampled_from([CareLevel.ROUTINE, CareLevel.ROUTINE, CareLevel.PROTECTED, None]))
    def a_client_is_registered(self, care):
        self.tick()
        code = f"C-{len(self.model.clients) + 1}"
        known = Personal(name=personal(code), contact=f"by post to {personal(code)}")
        register_client(self.practice, code=code, care_level=care, by="lead", personal=known)
        self.model.clients[code], self.model.registered[code] = care, self.now

    @precondition(lambda self: self.model.clients)
    @rule(pick=picks, care=st.sampled_from([CareLevel.ROUTINE, CareLevel.PROTECTED]))
    def a_care_level_is_changed(self, pick, care):
        """Of whoever was erased nothing personal is put on record again."""
        self.tick()
        code = chosen(self.model.clients, pick)
        if self.model.clients[code] is care:
            return
        try:
            set_care_level(self.practice, code, care, reason="asked again", by="lead")
        except InputError:
            assert code in self.model.erased
        else:
            assert code not in self.model.erased
            self.model.clients[code] = care

    # -- adverse events ---

    @precondition(lambda self: self.model.living and len(self.model.events) < 2)
    @rule(pick=picks, before=st.sampled_from([0, 0, 2]), is_filed=st.booleans())
    def something_went_wrong(self, pick, before, is_filed):
        """Sometimes with a letter kept as evidence."""
        self.tick()
        code, onset = chosen(self.model.living, pick), self.now.date() - timedelta(days=before)
        report = AdverseReport(client=code, onset=onset, what=f"a rash on {personal(code)}", report_due=onset + DUE)
        others = [replace(report, client=one) for one in self.model.clients if one != code]
        others += [replace(report, onset=onset - timedelta(days=1))]
        done = self.once(
            lambda key: report_adverse_event(self.practice, report, by="lead", request_key=key),
            *(
                lambda key, one=one: report_adverse_event(self.practice, one, by="lead", request_key=key)
                for one in others
            ),
        )
        uses = {one.number for one in self.model.uses.values() if one.client == code and one.at.date() <= onset}
        assert {one.text for one in done.uses} == uses
        self.model.events[done.number] = AnEvent(number=done.number, client=code, onset=onset, uses=frozenset(uses))
        if is_filed:
            with self.practice.write(by="lead") as ledger:
                letter = f"To {personal(code)}, who asked.".encode()
                keep_evidence(self.practice, ledger, letter, name="letter.txt", about=done.as_name)
            self.model.filed[code] = self.model.filed.get(code, 0) + 1

    @precondition(lambda self: self._open_events())
    @rule(pick=picks)
    def it_healed(self, pick):
        self.tick()
        event = chosen(self._open_events(), pick)
        today = Progress(report_sent=self.now.date(), closed_on=self.now.date())
        follow_adverse_event(self.practice, event.number, today, reason="it healed", by="lead")
        event.closed = self.now.date()

    def _open_events(self) -> list[AnEvent]:
        return [one for one in self.model.events.values() if one.closed is None and one.client not in self.model.erased]

    # -- erasure ---

    @precondition(lambda self: self.model.living)
    @rule(pick=picks)
    def a_client_asks_to_be_erased(self, pick):
        self.tick()
        self.erase(chosen(self.model.living, pick))

    def erase(self, code: str) -> None:
        """Refused exactly while the checker finds something open; afterwards nothing is left."""
        key = self._key_of(code)
        assert key is not None
        done = erase_client(self.practice, code, by="lead", reason="asked for it")
        self.compare(done.refused, self.against_erasing(code), f"erasure of {code}")
        self.seen.update(f"not erased, {one.kind}" for one in done.refused)
        if not done.refused:
            self.seen["erased"] += 1
            self.model.erased.add(code)
            assert len(done.files) == self.model.filed.get(code, 0)
            assert done.left_over == ()
            self.nothing_is_left_of(code)
            stored = [one.read_bytes() for one in self.practice.folder.rglob("*") if one.is_file()]
            assert not any(one in content for content in stored for one in (bytes.fromhex(key), key.encode()))

    def _key_of(self, code: str) -> str | None:
        with self.practice.ledger.read() as ledger:
            thing = ledger.require_thing(Name(Kind.CLIENT, code))
        rows = self.practice.ledger.kept_apart()[0]["client_key"]
        keys = [row["key"] for row in rows if (row["site"], row["sequence"]) == (thing.site, thing.sequence)]
        return str(keys[0]) if keys else None

    def against_erasing(self, code: str) -> set[ReasonKind]:
        """Return every kind of reason against erasing a client."""
        found, today = set(), self.now.date()
        if any(code in self.reached_by(one) for one in self.model.recalls.values() if not one.is_closed):
            found.add(ReasonKind.RECALL_OPEN)
        if any(one.client == code and one.closed is None for one in self.model.events.values()):
            found.add(ReasonKind.ADVERSE_EVENT_OPEN)
        last, years = max(self._days_of(code)), self.model.rules.keep_years
        if today <= date(last.year + years, last.month, min(last.day, 28) if years else last.day):
            found.add(ReasonKind.RETENTION_RUNS)
        return found

    def _days_of(self, code: str) -> list[date]:
        """Return every day on which something happened to a client."""
        model = self.model
        moments = [one.at for one in (*model.uses.values(), *model.incidents.values()) if one.client == code]
        moments += [one.at for one in model.openings.values() if one.client == code]
        moments += [one.filled_at for one in model.tubes.values() if one.filled_at and one.filled_for == code]
        days = [one.date() for one in (model.registered[code], *moments)]
        for event in model.events.values():
            days += [day for day in (event.onset, event.closed) if day is not None and event.client == code]
        return days

    def nothing_is_left_of(self, code: str) -> None:
        """No key, no word that anything decrypts to; that there was a client, and what was used, is left."""
        client = Name(Kind.CLIENT, code)
        assert self._key_of(code) is None
        shown = show_client(self.practice, code)
        assert (shown.client, shown.is_erased) == (Client(code=code), True)
        with self.practice.ledger.read() as ledger:
            assert {one.value.procedure for one in ledger.about(Use, "client", client)} <= {None}
            assert {one.value.what for one in ledger.about(AdverseEvent, "client", client)} <= {None}
            files = [one.value for one in ledger.every(Evidence) if one.value.client == client]
            opened = [open_evidence(self.practice, ledger, one) for one in files]
        assert [(one.content, one.is_erased) for one in opened] == [(None, True)] * self.model.filed.get(code, 0)

    def verify(self) -> None:
        """The chain holds, no file is missing, and what was erased is called so."""
        found = verify_records(self.practice)
        assert found.findings == ()
        assert found.files_erased == sum(self.model.filed.get(one, 0) for one in self.model.erased)
        for code in self.model.erased:
            self.nothing_is_left_of(code)
        with self.practice.ledger.read() as ledger:
            said = {one.value.number: one.value.procedure for one in ledger.every(Use)}
        for use in self.model.uses.values():
            if use.client not in self.model.erased:
                assert said[use.number] == f"what was done to {personal(use.client)}"
