"""``tracelabels evidence``, ``open-evidence``: files behind facts, kept by their digest."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, answer, say
from tracelabels.cli.options import Asked, Recording, bench_options, practice_options
from tracelabels.errors import InputError

if TYPE_CHECKING:
    from tracelabels.custody import Name


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--about", metavar="KIND:NAME", help="What it is evidence for, such as load:L01-0001.")
@click.option("--client", metavar="CODE", help="Whose personal data it may show; the file is sealed and can be erased.")
@bench_options
def evidence(asked: Recording, file: Path, about: str | None, client: str | None) -> None:
    """Keep a FILE: a photograph (only its pixels), a PDF, or text such as a logger's CSV.

    What is about a use, an incident or an adverse event is sealed with the client's key in any case.
    """
    from tracelabels.custody import Kind, Name
    from tracelabels.workflows.keep_evidence import evidence_name, keep_file

    if about is None and client is None:
        raise InputError(given="no --about and no --client", expected="what it stands behind", remedy="name one")
    named = None if about is None else _named(about)
    person = None if client is None else Name(Kind.CLIENT, client)
    with asked.opened() as here:
        kept = keep_file(here, file, by=asked.by, about=named, client=person)
    is_sealed = kept.client is not None
    if asked.as_json:
        record = {"digest": kept.digest, "file": evidence_name(kept), "media_type": kept.media_type}
        answer({**record, "bytes": kept.size, "sealed": is_sealed})
    say(f"Kept {file.name} as {evidence_name(kept)}{', sealed' if is_sealed else ''}.")


def _named(text: str) -> "Name":
    from tracelabels.custody import Kind, Name

    kind, colon, name = text.partition(":")
    known = {one.value.replace("_", "-"): one for one in Kind}
    if not colon or kind.replace("_", "-") not in known:
        raise InputError(
            given=f"--about {text!r}", expected=f"KIND:NAME, KIND one of {', '.join(known)}", remedy="correct it"
        )
    return Name(known[kind.replace("_", "-")], name)


@click.command(name="open-evidence")
@click.argument("digest")
@click.option("--out", required=True, type=click.Path(path_type=Path, dir_okay=False), help="A new name.")
@practice_options
def open_evidence(asked: Asked, digest: str, out: Path) -> int:
    """Leave a copy of the kept file with this DIGEST, opened; exit 1 if it was erased with its client."""
    from tracelabels.workflows.keep_evidence import take_out

    with asked.opened() as here:
        found = take_out(here, digest, out)
    if asked.as_json:
        answer({"digest": found.evidence.digest, "media_type": found.evidence.media_type, "erased": found.is_erased})
    if found.content is None:
        say("This file was erased with its client." if found.is_erased else "It cannot be opened: the key is missing.")
        return FINDING
    say(f"Left {out}.")
    return 0
