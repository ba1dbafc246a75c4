"""One of many: a condition whose numbers travel together as one parameter.

So a statement has the same text for one thing and for a thousand: neither SQLAlchemy nor the database has to make it
anew for each set, which took longer than the answer. SQLite takes the numbers as a JSON array, PostgreSQL as an array.
"""

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any, Final

from sqlalchemy import ARRAY, ColumnElement, Dialect, Integer, String, bindparam
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import SQLCompiler
from sqlalchemy.sql.functions import FunctionElement
from sqlalchemy.types import TypeDecorator, TypeEngine

from tracelabels.records.facts import FactId

Pair = tuple[ColumnElement[Any], ColumnElement[Any]]
"""Two columns that name a thing or a fact: site, sequence."""
CHUNK: Final = 2_000
"""How many things one statement asks about, so that no answer fills the memory."""


class _Numbers(TypeDecorator[Sequence[int]]):
    """Whole numbers as one parameter."""

    impl = String
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Return an array where the database has one."""
        return dialect.type_descriptor(ARRAY(Integer) if dialect.name == "postgresql" else String())

    def process_bind_param(self, value: Sequence[int] | None, dialect: Dialect) -> Any:  # noqa: ANN401  as the driver wants it
        """Return the numbers as the database takes them."""
        return value if dialect.name == "postgresql" else json.dumps(value)


class _OneOf(FunctionElement[bool]):
    """The condition that a number is among those of a parameter.

    It is given no type: SQLAlchemy would compare a Boolean with 1, and then no index serves it.
    """

    inherit_cache = True


@compiles(_OneOf, "sqlite")
def _in_json(element: _OneOf, compiler: SQLCompiler, **_: object) -> str:
    number, numbers = (compiler.process(part) for part in element.clauses)
    return f"{number} IN (SELECT value FROM json_each({numbers}))"  # noqa: S608  names of ours only


@compiles(_OneOf, "postgresql")
def _in_array(element: _OneOf, compiler: SQLCompiler, **_: object) -> str:
    number, numbers = (compiler.process(part) for part in element.clauses)
    return f"{number} = ANY ({numbers})"


@dataclass(frozen=True, slots=True, kw_only=True)
class Chunk:
    """Some things of one site."""

    site: int
    """The site."""
    things: dict[int, FactId]
    """The things by sequence, ascending."""

    @property
    def values(self) -> dict[str, Any]:
        """Return the parameters of a statement with :func:`is_given`."""
        return {"given_site": self.site, "given_sequences": list(self.things)}


def chunks(things: Iterable[FactId]) -> Iterator[Chunk]:
    """Give things some at a time, each time of one site."""
    by_site: dict[int, list[FactId]] = defaultdict(list)
    for thing in things:
        by_site[thing.site].append(thing)
    for site, several in sorted(by_site.items()):
        source = iter(sorted(several, key=lambda thing: thing.sequence))
        while chunk := {thing.sequence: thing for thing in islice(source, CHUNK)}:
            yield Chunk(site=site, things=chunk)


def is_given(ends: Pair) -> ColumnElement[bool]:
    """Return the condition that a pair of columns names one of the things of a chunk, which comes as parameters."""
    sequences = bindparam("given_sequences", type_=_Numbers())
    return (ends[0] == bindparam("given_site", type_=Integer())) & _OneOf(ends[1], sequences)


def among(ends: Pair, things: Iterable[FactId]) -> Iterator[ColumnElement[bool]]:
    """Give conditions that a pair of columns names one of these things, for some of them at a time."""
    for chunk in chunks(things):
        numbers = bindparam(None, list(chunk.things), type_=_Numbers())
        yield (ends[0] == chunk.site) & _OneOf(ends[1], numbers)
