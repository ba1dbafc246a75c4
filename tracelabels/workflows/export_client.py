"""Export everything about one client: readable JSON, a page of plain text, and the files of evidence, opened.

Every version of every fact that names the client is in it, and every fact that names a use, an incident or an adverse
event of the client. Other clients who stand in the same facts (a recall, a second use of one pouch) are left out.
"""

import io
import json
import os
import shutil
import tempfile
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from tracelabels.custody import Client, Evidence, Kind, Name
from tracelabels.errors import InputError
from tracelabels.words import in_words
from tracelabels.workflows.field_texts import as_text
from tracelabels.workflows.keep_evidence import open_evidence, suffix_of
from tracelabels.workflows.leave_file import leave_file
from tracelabels.workflows.practice import Practice

if TYPE_CHECKING:
    from tracelabels.records import Fact, FactId, Reading

FORMAT: Final = "tracelabels client 1"
ANOTHER: Final = "client:(another)"
"""Stands for every other client."""
_OWN: Final = frozenset({"client_use", "incident", "adverse_event"})
"""Kinds of facts about the client whose own facts belong to the client, too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClientExported:
    """What was exported."""

    place: Path
    """The folder or the archive."""
    facts: int
    """So many facts."""
    files: int
    """So many files of evidence."""
    is_erased: bool
    """The client was erased: what is personal is not in it."""


def export_client(practice: Practice, code: str, out: Path) -> ClientExported:
    """Export everything about a client into a new folder, or into an archive if the name ends in ``.zip``.

    Args:
        practice: the practice.
        code: the client's code.
        out: where nothing lies yet.

    Raises:
        LedgerError: there is no such client.
        InputError: something lies there already.
    """
    _require_free(out)
    client = Name(Kind.CLIENT, code.strip())
    with practice.ledger.read() as ledger:
        thing = ledger.require_thing(client)
        found = facts_about(ledger, thing)
        standing = {ledger.history(one)[-1].id for one in dict.fromkeys(fact.thing for fact in found)}
        facts = [_fact(ledger, one, client, stands=one.id in standing) for one in found]
        files, listed = _files(practice, ledger, client)
        is_erased = ledger.is_erased(client)
    record = {"format": FORMAT, "client": client.text, "erased": is_erased, "facts": facts, "files": listed}
    files["client.json"] = json.dumps(record, indent=2, ensure_ascii=False).encode()
    files["client.txt"] = "\n".join(_page(record)).encode()
    _leave(out, files)
    return ClientExported(place=out, facts=len(facts), files=len(listed), is_erased=is_erased)


def facts_about(ledger: "Reading", client: "FactId") -> "tuple[Fact, ...]":
    """Return every fact about a client, in every version, in the order recorded at each site."""
    naming = ledger.facts_naming(client)
    found = {one.id: one for one in (*ledger.history(client), *naming)}
    for thing in dict.fromkeys(one.thing for one in naming if one.kind.value in _OWN):
        found |= {one.id: one for one in (*ledger.history(thing), *ledger.facts_naming(thing))}
    return tuple(found[at] for at in sorted(found))


def _fact(ledger: "Reading", one: "Fact", client: Name, *, stands: bool) -> dict[str, object]:
    said: Any = ledger.said(one.id)
    return {
        "fact": str(one.id),
        "kind": one.kind.value,
        "stands": stands,
        "recorded_at": one.recorded_at.isoformat(),
        "happened_at": one.happened_at.isoformat(),
        "by": one.by,
        "corrects": None if one.corrects is None else str(one.corrects),
        "reason": one.reason,
        "says": {} if said is None else _plain_fields(said, client),
    }


def _plain_fields(said: Any, client: Name) -> dict[str, object]:  # noqa: ANN401  any recorded value
    from tracelabels.records import personal_fields  # noqa: PLC0415  heavy: only who needs the ledger

    owner = said.as_name if isinstance(said, Client) else getattr(said, "client", None)
    hidden = personal_fields(said) if owner != client else frozenset[str]()
    return {one.name: _plain(getattr(said, one.name), client) for one in fields(said) if one.name not in hidden}


def _plain(value: object, client: Name) -> object:
    if isinstance(value, Name):
        return ANOTHER if value.kind is Kind.CLIENT and value != client else as_text(value)
    if isinstance(value, tuple):
        return [_plain(one, client) for one in value]
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    if is_dataclass(value):
        return as_text(value)
    return value


def _files(practice: Practice, ledger: "Reading", client: Name) -> tuple[dict[str, bytes], list[dict[str, object]]]:
    files: dict[str, bytes] = {}
    listed: list[dict[str, object]] = []
    for recorded in ledger.about(Evidence, "client", client):
        evidence = recorded.value
        name, problem, is_erased = None, None, False
        try:
            opened = open_evidence(practice, ledger, evidence)
        except InputError as missing:
            problem = missing.given
        else:
            is_erased = opened.is_erased
            if opened.content is not None:
                name = f"evidence/{len(listed) + 1:03d}{suffix_of(evidence.media_type)}"
                files[name] = opened.content
        about = None if evidence.about is None else as_text(evidence.about)
        entry: dict[str, object] = {
            "file": name,
            "digest": evidence.digest,
            "about": about,
            "erased": is_erased,
            "problem": problem,
        }
        listed.append(entry)
    return files, listed


def _page(record: Mapping[str, Any]) -> Iterator[str]:
    yield f"Client {record['client']}"
    if record["erased"]:
        yield "This client was erased: what was personal is gone."
    for one in record["facts"]:
        yield ""
        mark = "" if one["stands"] else " (not standing any more)"
        yield f"{in_words(one['kind'])}, fact {one['fact']}{mark}"
        yield f"  recorded {one['recorded_at']} by {one['by']}, happened {one['happened_at']}"
        if one["reason"]:
            yield f"  reason: {one['reason']}"
        for name, value in one["says"].items():
            if value not in (None, []):
                text = ", ".join(map(str, value)) if isinstance(value, list) else str(value)
                yield f"  {in_words(name)}: {text}"
    for one in record["files"]:
        yield ""
        what = one["file"] or ("(erased)" if one["erased"] else f"({one['problem']})")
        yield f"file {what}, {one['about'] or 'about the client'}"
    yield ""


def _require_free(out: Path) -> None:
    if not out.name or not out.absolute().parent.is_dir():
        raise InputError(
            given=f"{str(out)!r}", expected="a new name in a folder that is there", remedy=f"make {out.parent}"
        )
    if os.path.lexists(out):
        raise InputError(
            given=f"{out}, where something lies already",
            expected="a new folder, or a new name ending in .zip",
            remedy="choose another name; nothing was written",
        )


def _leave(out: Path, files: Mapping[str, bytes]) -> None:
    """Leave a folder or an archive, whole or not at all, for its owner only."""
    if out.suffix == ".zip":
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as pack:
            for name, content in files.items():
                pack.writestr(name, content)
        leave_file(out, packed.getvalue())
        out.chmod(0o600)
        return
    hidden = Path(tempfile.mkdtemp(dir=out.absolute().parent, prefix=".", suffix=".part"))
    try:
        for name, content in files.items():
            (hidden / name).parent.mkdir(exist_ok=True)
            (hidden / name).write_bytes(content)
        hidden.rename(out)
    except BaseException:
        shutil.rmtree(hidden, ignore_errors=True)
        raise
