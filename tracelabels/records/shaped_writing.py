"""Recording by shape: any kind of thing or fact, once for each request, and claims that only one can win."""

from collections.abc import Sequence
from typing import Any, TypeVar

from sqlalchemy import func, select

from tracelabels.custody import Name
from tracelabels.errors import LedgerError
from tracelabels.records.client_keys import find_client_key
from tracelabels.records.fact_reading import names
from tracelabels.records.facts import FactId, Recorded
from tracelabels.records.kinds import NAMINGS, shape_of
from tracelabels.records.refusals import given_reason, taken_before
from tracelabels.records.rows import NewRow, named, thing_named
from tracelabels.records.schema import claim, request
from tracelabels.records.shapes import NOTHING_PERSONAL, Shape, lay_down, sealed_content
from tracelabels.records.writing import ChainWriting, Draft, Rows
from tracelabels.words import in_words

V = TypeVar("V")


class ShapedWriting(ChainWriting):
    """Records values by their shape."""

    def record(
        self, value: object, *, request_key: str | None = None, claims: Sequence[tuple[str, Name]] = ()
    ) -> FactId:
        """Record a thing or a fact.

        Args:
            value: what; every thing it names must be on record.
            request_key: names the request that it answers; a key is answered once.
            claims: what this fact takes for good, as (what, thing): ``("used", pouch)``.

        Raises:
            LedgerError: a name is taken or not known, the request was answered before, or a claim stands.
        """
        shape = shape_of(type(value))
        content = self._content(shape, value, None)
        content += self._requested(request_key) + self._claimed(claims)
        return self.append(self._draft(shape, value, content))

    def amend(self, recorded: Recorded[V], value: V, *, reason: str) -> FactId:
        """Put another version of a thing or a fact on record; the one before stays readable in its history.

        Raises:
            LedgerError: the fact was corrected by somebody else meanwhile, no reason is given, or a name is taken.
        """
        shape = shape_of(type(value))
        draft = self._draft(shape, value, self._content(shape, value, recorded.thing))
        return self.append(draft.correcting(recorded.fact, given_reason(reason)))

    def append(self, draft: Draft) -> FactId:
        """Put a fact at the end of the chain; a correction may change what a thing is called."""
        if draft.corrects is not None:
            self._names.clear()
        return super().append(draft)

    def _content(self, shape: Shape[Any], value: object, thing: FactId | None) -> Rows:
        content = lay_down(shape, value, self.require_thing)
        if shape.thing is not None:
            naming = NAMINGS[shape.thing]
            row = content[0][1]
            values: NewRow = {column: row[column] for column in naming.columns}
            what = f"{in_words(shape.thing)} {'/'.join(map(str, values.values()))}"
            self._refuse_taken(what, naming.table, values, thing=thing)
        return content

    def _draft(self, shape: Shape[Any], value: Any, content: Rows) -> Draft:  # noqa: ANN401  any recorded value
        owner = thing_named(shape.owner, content[0][1]) if shape.owner else None
        personal = sealed_content(shape, value)
        if personal == NOTHING_PERSONAL and owner is not None and find_client_key(self._connection, owner) is None:
            personal = None  # what happened is recorded also about a client who was erased, without anything personal
        return Draft(kind=shape.kind, rows=content, sealed=personal, owner=owner, owns_itself=shape.owner == "")

    def _requested(self, key: str | None) -> Rows:
        if key is None:
            return []
        answered = self.find_answered(key)
        if answered is not None:
            raise taken_before(what=f"request {key!r}", whose=f"fact {answered}, which answered it")
        return [(request, {"key": key})]

    def _claimed(self, claims: Sequence[tuple[str, Name]]) -> Rows:
        """Return the rows that claim things; an attempt after one that was taken back has the next number."""
        content: Rows = []
        for place, (what, item) in enumerate(claims):
            thing = self.require_thing(item)
            before = self._claims(what, thing)
            if before:
                raise LedgerError(
                    given=f"{item}, which was {what} before (fact {before[0]})",
                    expected=f"a thing that nobody {what}",
                    remedy="look it up; record an incident if it was met a second time",
                )
            query = select(func.max(claim.c.attempt)).where(names("item", claim, thing), claim.c.what == what)
            self._settle()
            attempt = (self._connection.execute(query).scalar_one() or 0) + 1
            row: NewRow = {"position": place, **named("item", thing), "what": what, "attempt": attempt}
            content.append((claim, row))
        return content
