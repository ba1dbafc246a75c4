"""``tracelabels verify``, ``head``, ``backup``, ``restore``: whether the record is whole, and that it stays so."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, WRONG_INPUT, answer, say
from tracelabels.cli.options import Asked, as_json, practice_options

if TYPE_CHECKING:
    from tracelabels.workflows.verify_records import Verified


@click.command()
@click.option(
    "--head",
    "heads",
    metavar="FILE",
    multiple=True,
    type=click.Path(path_type=Path, dir_okay=False),
    help="A signed head that was kept elsewhere; shows a chain that was cut short or written anew. Can be repeated.",
)
@practice_options
def verify(asked: Asked, heads: tuple[Path, ...]) -> int:
    """Check the ledger's chain of facts from the first to the last, and the files on record.

    Exit 1 and the first broken link named if anything is not as it was recorded. Without --head nobody can know
    whether facts are missing at the end.
    """
    from tracelabels.workflows.verify_records import verify_records

    with asked.opened() as here:
        found = verify_records(here, heads)
    if asked.as_json:
        answer(_as_record(found))
    for one in found.refused:
        if asked.as_json:
            answer({"head": str(one.file), "error": one.sentence})
        say(f"tracelabels: {one.sentence}")
    for finding in found.findings:
        say(f"{finding.at}: {finding.sentence}")
    _say_condition(found)
    if found.refused:
        return WRONG_INPUT
    if found.findings:
        return FINDING
    say("Every fact is in its place and unchanged.")
    return 0


def _as_record(found: "Verified") -> dict[str, object]:
    return {
        "ok": not found.findings,
        "problems": [{"at": one.at, "sentence": one.sentence} for one in found.findings],
        "library": found.condition.library,
        "journal": found.condition.journal,
        "durable": found.condition.is_durable,
        "facts": {str(site): count for site, count in found.condition.facts},
        "heads": found.heads,
        "files_checked": found.files_checked,
        "files_elsewhere": list(found.files_elsewhere),
        "files_erased": found.files_erased,
        "lost_keys": list(found.lost_keys),
    }


def _say_condition(found: "Verified") -> None:
    say(f"{found.condition.library}, {found.condition.journal}.")
    if not found.condition.is_durable:
        say("With these settings a loss of power can take facts away that were acknowledged.")
    facts = ", ".join(f"site {site}: {count:,}" for site, count in found.condition.facts) or "none"
    say(f"Facts: {facts}. Files with the digest on record: {found.files_checked:,}.")
    if found.files_erased:
        say(f"Erased with their clients, and rightly gone: {found.files_erased:,}.")
    for name in found.files_elsewhere:
        say(f"{name} is not in the practice's folder, so its digest was not checked.")
    for sentence in found.lost_keys:
        say(sentence)
    if found.heads:
        say(f"Compared with {found.heads} signed head{'s' if found.heads > 1 else ''} kept elsewhere.")
    else:
        say("No signed head was given: facts missing at the end would not be noticed.")


@click.command()
@click.option(
    "--out",
    required=True,
    type=click.Path(path_type=Path, dir_okay=False),
    help="The file to leave; keep it where nobody here can change it.",
)
@click.option("--new-key", is_flag=True, help="Begin a new signing key: the earlier one is lost for good.")
@practice_options
def head(asked: Asked, out: Path, *, new_key: bool) -> None:
    """Leave the signed end of every chain in a file.

    Kept elsewhere (with a colleague, printed, mailed), it shows later whether facts were taken away or written anew:
    'tracelabels verify --head FILE'. It holds no secret and nothing personal.
    """
    from tracelabels.workflows.export_heads import export_heads
    from tracelabels.workflows.signing_keys import find_signers

    with asked.opened() as here:
        heads = export_heads(here, out, with_new_key=new_key)
        lost = find_signers(here).sentences
    for one in heads:
        if asked.as_json:
            answer(
                {"site": one.head.site, "sequence": one.head.sequence, "link": one.head.link.hex(), "time": one.time}
            )
            continue
        click.echo(f"site {one.head.site}: facts up to {one.head.sequence:,}, last link {one.head.link.hex()}")
    say(f"Left {out}, signed with the key whose public half is {heads[0].public_key.hex()}.")
    for sentence in lost:
        say(sentence)


@click.command()
@click.argument("archive", metavar="F", type=click.Path(path_type=Path, dir_okay=False))
@practice_options
def backup(asked: Asked, archive: Path) -> int:
    """Leave a copy of everything in the new file F, and its keys in F.keys, while others may work on.

    Keep the two apart: F holds no key, so what is personal in it dies with its key. Keep only the newest keys; they
    open every older F. Exit 1 if something is wrong with the ledger itself; the copy is left, and true to it.
    """
    from tracelabels.workflows.backup import back_up

    with asked.opened() as here:
        done = back_up(here, archive)
    if asked.as_json:
        answer(
            {
                "archive": str(done.archive),
                "keys": str(done.keys),
                "files": done.files,
                "facts": done.facts,
                "ok": not done.problems,
                "problems": list(done.problems),
            }
        )
    for sentence in done.problems:
        say(f"{sentence}; the copy is true to it")
    say(f"Left {done.archive} with {done.facts:,} facts and {done.files:,} files, each checked, and {done.keys}.")
    say("Keep the keys in another place than the archive, and destroy the keys of older backups.")
    return FINDING if done.problems else 0


@click.command()
@click.argument("archive", metavar="F", type=click.Path(path_type=Path, dir_okay=False))
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path, file_okay=False))
@click.option(
    "--keys",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The file of keys, of this backup or a newer one (else F.keys).",
)
@click.option(
    "--database", default="", metavar="URL", help="Put the ledger into this empty PostgreSQL database, not into DIR."
)
@as_json
def restore(archive: Path, folder: Path, keys: Path | None, database: str, as_json: bool) -> int:
    """Put the backup F back into the new folder DIR, erase again what was erased since, and verify all of it.

    Exit 1 if something in it is not as it was recorded; what is sound is restored all the same.
    """
    from tracelabels.workflows.restore import restore as put_back

    done = put_back(archive, folder, keys=keys, database_url=database)
    if as_json:
        answer(
            {"folder": str(folder), "made_at": done.made_at, "files": done.files, "erased": done.erased}
            | _as_record(done.verified)
        )
    for finding in done.verified.findings:
        say(f"{finding.at}: {finding.sentence}")
    say(f"Restored {folder} from the backup of {done.made_at}: {done.files:,} files.")
    if done.erased:
        say(f"Erased again: the personal content of {done.erased} fact{'s' if done.erased > 1 else ''}.")
    _say_condition(done.verified)
    say("What was recorded after this backup is not in it: look at the papers since, and record it again.")
    if done.verified.findings:
        return FINDING
    say("Every fact is in its place and unchanged.")
    return 0
