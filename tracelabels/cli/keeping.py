"""``tracelabels verify``, ``head``: whether the record is whole, and what shows it to others."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import answer, say
from tracelabels.cli.options import as_json, opened, practice_option

if TYPE_CHECKING:
    from tracelabels.workflows.verify_records import Verified

_WRONG_INPUT = 2


@click.command()
@click.option(
    "--head",
    "heads",
    metavar="FILE",
    multiple=True,
    type=click.Path(path_type=Path, dir_okay=False),
    help="A signed head that was kept elsewhere; shows a chain that was cut short or written anew. Can be repeated.",
)
@practice_option
@as_json
@click.pass_context
def verify(
    ctx: click.Context, heads: tuple[Path, ...], practice: Path | None, today: str | None, as_json: bool
) -> None:
    """Check the ledger's chain of facts from the first to the last, and the files on record.

    Exit 1 and the first broken link named if anything is not as it was recorded. Without --head nobody can know
    whether facts are missing at the end.
    """
    from tracelabels.workflows.verify_records import verify_records

    with opened(practice, today) as here:
        found = verify_records(here, heads)
    if as_json:
        answer(_as_record(found))
    for one in found.refused:
        if as_json:
            answer({"head": str(one.file), "error": one.sentence})
        say(f"tracelabels: {one.sentence}")
    for finding in found.findings:
        say(f"{finding.at}: {finding.sentence}")
    _say_condition(found)
    if found.refused:
        ctx.exit(_WRONG_INPUT)
    if found.findings:
        ctx.exit(1)
    say("Every fact is in its place and unchanged.")


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
    }


def _say_condition(found: "Verified") -> None:
    say(f"{found.condition.library}, {found.condition.journal}.")
    if not found.condition.is_durable:
        say("With these settings a loss of power can take facts away that were acknowledged.")
    facts = ", ".join(f"site {site}: {count:,}" for site, count in found.condition.facts) or "none"
    say(f"Facts: {facts}. Files with the digest on record: {found.files_checked:,}.")
    for name in found.files_elsewhere:
        say(f"{name} is not in the practice's folder, so its digest was not checked.")
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
@practice_option
@as_json
def head(out: Path, practice: Path | None, today: str | None, as_json: bool) -> None:
    """Leave the signed end of every chain in a file.

    Kept elsewhere (with a colleague, printed, mailed), it shows later whether facts were taken away or written anew:
    'tracelabels verify --head FILE'. It holds no secret and nothing personal.
    """
    from tracelabels.workflows.export_heads import export_heads

    with opened(practice, today) as here:
        heads = export_heads(here, out)
    for one in heads:
        if as_json:
            answer(
                {"site": one.head.site, "sequence": one.head.sequence, "link": one.head.link.hex(), "time": one.time}
            )
            continue
        click.echo(f"site {one.head.site}: facts up to {one.head.sequence:,}, last link {one.head.link.hex()}")
    say(f"Left {out}, signed with the key whose public half is {heads[0].public_key.hex()}.")
