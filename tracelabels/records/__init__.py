"""Records: the ledger. The only room that speaks SQL.

One chain of facts for each site:

- A fact is named (site, sequence). Each site writes its own chain and no other; a database may hold several chains.
- What a fact says stands in typed rows with the same name. Facts and rows are only added; the database itself refuses
  changes. A fact holds the digest of its rows, and a link (HMAC with the practice's key) over itself and the link
  before.
- A correction is a new fact about the same thing with a higher version; it names the fact it corrects, and why. The
  highest (version, site, sequence) stands, at every site alike, in whatever order they were merged.
- Merging copies other sites' chains as they are, checks them, and records how far each was seen.
- Personal content lies apart (``sealed``), with a salt; the fact holds only its digest. Erasing records an erasure and
  deletes content and salt: the chain stays whole, and ``verify`` knows erased from missing.

Modules:
    facts: facts, their names, what verify finds.
    schema: the tables.
    append_only: statements by which a database refuses changes.
    migrations: the same tables, step by step from release to release.
    migrating: brings a database to the newest step.
    engine: connections, units of reading and writing.
    chain: digests, links, ends of chains.
    walking: the walk that checks them.
    keys: the practice's keys.
    signing: signed ends of chains, and the files that hold them.
    condition: which library, which journal, how many facts.
    rows: between values and rows.
    shapes: how each kind of value is laid down, read from its own type.
    kinds: every kind of value that is recorded by its shape.
    client_keys: a key for each client.
    fact_reading: facts as they stand.
    among: one of many things: a condition whose numbers are one parameter.
    shaped_reading: any kind of thing by its name, any fact by what it is about.
    tracing: what hangs together with what, for whole sets of things.
    happenings: what happened to bottles, tubes and pouches; what their fates are derived from.
    causes: where a trace begins, and what stands beside its things.
    notices: what was said of things since: holds, recalls, adverse events, for whole sets of things.
    counting: how much a recall reaches, counted a second way.
    reading: the things of the bench as they stand.
    refusals: sentences of what is refused.
    writing: one unit of writing: numbers and links.
    shaped_writing: any kind of thing or fact; requests and claims.
    appending: the things of the bench.
    erasing: personal content.
    copying: a consistent copy while others write, and back.
    reviving: what an old copy must not revive.
    merging: several sites in one database.
    ledger: all of it behind one door.
"""

from typing import TYPE_CHECKING

from tracelabels.records.facts import (
    Fact,
    FactId,
    FactKind,
    Head,
    Problem,
    ProblemKind,
    Recorded,
    Series,
    StaffMember,
)

if TYPE_CHECKING:
    from tracelabels.records.appending import Writing
    from tracelabels.records.causes import Detail
    from tracelabels.records.condition import Condition
    from tracelabels.records.copying import CopyDone, fill_from_copy
    from tracelabels.records.keys import key_path, make_key_file, read_or_make_key, signing_key_path
    from tracelabels.records.kinds import is_shaped, personal_fields
    from tracelabels.records.ledger import Ledger, open_ledger
    from tracelabels.records.notices import EventNotice, HoldNotice, RecallNotice
    from tracelabels.records.reading import Reading
    from tracelabels.records.signing import (
        SignedHead,
        fingerprint,
        head_file,
        is_signed,
        parse_heads,
        public_key_of,
        read_head_file,
        sign,
        sign_head,
    )

__all__ = [
    "Condition",
    "CopyDone",
    "Detail",
    "EventNotice",
    "Fact",
    "FactId",
    "FactKind",
    "Head",
    "HoldNotice",
    "Ledger",
    "Problem",
    "ProblemKind",
    "Reading",
    "RecallNotice",
    "Recorded",
    "Series",
    "SignedHead",
    "StaffMember",
    "Writing",
    "fill_from_copy",
    "fingerprint",
    "head_file",
    "is_shaped",
    "is_signed",
    "key_path",
    "make_key_file",
    "open_ledger",
    "parse_heads",
    "personal_fields",
    "public_key_of",
    "read_head_file",
    "read_or_make_key",
    "sign",
    "sign_head",
    "signing_key_path",
]

_HEAVY = {
    "Detail": "tracelabels.records.causes",
    "HoldNotice": "tracelabels.records.notices",
    "RecallNotice": "tracelabels.records.notices",
    "EventNotice": "tracelabels.records.notices",
    "Ledger": "tracelabels.records.ledger",
    "open_ledger": "tracelabels.records.ledger",
    "CopyDone": "tracelabels.records.copying",
    "Condition": "tracelabels.records.condition",
    "key_path": "tracelabels.records.keys",
    "read_or_make_key": "tracelabels.records.keys",
    "signing_key_path": "tracelabels.records.keys",
    "SignedHead": "tracelabels.records.signing",
    "fill_from_copy": "tracelabels.records.copying",
    "fingerprint": "tracelabels.records.signing",
    "head_file": "tracelabels.records.signing",
    "is_signed": "tracelabels.records.signing",
    "make_key_file": "tracelabels.records.keys",
    "parse_heads": "tracelabels.records.signing",
    "sign": "tracelabels.records.signing",
    "public_key_of": "tracelabels.records.signing",
    "read_head_file": "tracelabels.records.signing",
    "sign_head": "tracelabels.records.signing",
    "personal_fields": "tracelabels.records.kinds",
    "is_shaped": "tracelabels.records.kinds",
    "Reading": "tracelabels.records.reading",
    "Writing": "tracelabels.records.appending",
}


def __getattr__(name: str) -> object:
    """Load the database library only when the ledger is really opened."""
    if name not in _HEAVY:
        message = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(message)
    from importlib import import_module  # noqa: PLC0415  only for the heavy names

    return getattr(import_module(_HEAVY[name]), name)
