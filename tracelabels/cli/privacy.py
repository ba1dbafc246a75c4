"""``tracelabels client-export``, ``staff``, ``erase-staff``, ``erase-client``: what is personal, and how it goes."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, answer, say
from tracelabels.cli.options import Asked, Recording, bench_options, practice_options

if TYPE_CHECKING:
    from tracelabels.workflows.erase_client import ClientErased


@click.command(name="erase-client")
@click.argument("code")
@click.option("--reason", required=True, help="Why; nothing personal, for it stays in the record.")
@bench_options
def erase_client(asked: Recording, code: str, reason: str) -> int:
    """Erase everything personal about the client with this CODE, for good.

    Refused while a recall that reaches the client, an adverse event or a rule of keeping is open. What was used, when
    and where it came from stays on record under the code.
    """
    from tracelabels.workflows.erase_client import NOT_REACHED
    from tracelabels.workflows.erase_client import erase_client as erase

    with asked.opened() as here:
        done = erase(here, code, by=asked.by, reason=reason)
    if asked.as_json:
        answer(
            {
                "client": done.client.text,
                "erased": not done.refused,
                "reasons": [one.sentence for one in done.refused],
                "facts": done.facts,
                "files": list(done.files),
                "letters": list(done.letters),
                "by_hand": list(done.by_hand),
                "left_over": list(done.left_over),
                "not_reached": [] if done.refused else list(NOT_REACHED),
            }
        )
    if done.refused:
        say(f"Client {done.client.text} is kept:")
        for one in done.refused:
            say(f"  {one.sentence}")
        return FINDING
    _say_erased(done)
    return 0


def _say_erased(done: "ClientErased") -> None:
    from tracelabels.workflows.erase_client import NOT_REACHED

    say(f"Client {done.client.text} is erased.")
    say(f"  facts that lost what was personal: {done.facts}")
    say(f"  files destroyed: {len(done.files)}")
    for name in done.letters:
        say(f"  {name}, which named the client, was destroyed whole")
    for sentence in done.by_hand:
        say(f"  {sentence}")
    for name in done.left_over:
        say(f"  {name} still holds the client's name, number or contact: take it away by hand")
    say("Not reached from here:")
    for sentence in NOT_REACHED:
        say(f"  {sentence}")


@click.command(name="client-export")
@click.argument("code")
@click.option(
    "--out", required=True, type=click.Path(path_type=Path), help="A new folder, or a new name that ends in .zip."
)
@practice_options
def client_export(asked: Asked, code: str, out: Path) -> None:
    """Export everything about the client with this CODE: every fact in every version, and the files, opened.

    What it leaves is personal and lies open: hand it over, then destroy it; erasing does not reach it.
    """
    from tracelabels.workflows.export_client import export_client

    with asked.opened() as here:
        done = export_client(here, code, out)
    if asked.as_json:
        record = {"out": str(done.place), "facts": done.facts, "files": done.files, "erased": done.is_erased}
        answer(record)
    say(f"Left {done.place}: facts: {done.facts}, files of evidence: {done.files}.")
    if done.is_erased:
        say("The client was erased: nothing personal is in it.")
    else:
        say("It is personal and lies open; erasing the client does not reach it.")


@click.command()
@click.argument("code")
@click.option("--name", help="The name; it can be erased.")
@click.option("--initials", help="Initials for labels; they can be erased.")
@bench_options
def staff(asked: Recording, code: str, name: str | None, initials: str | None) -> None:
    """Enter a member of staff under a CODE that says nothing about the person; it stays for good."""
    from tracelabels.workflows.keep_staff import enter_staff

    with asked.opened() as here:
        done = enter_staff(here, code, name=name, initials=initials, by=asked.by)
    if asked.as_json:
        answer({"code": done})
    say(f"Entered staff {done}.")


@click.command(name="erase-staff")
@click.argument("code")
@click.option("--reason", required=True, help="Why; nothing personal, for it stays in the record.")
@bench_options
def erase_staff(asked: Recording, code: str, reason: str) -> None:
    """Erase name and initials of the member of staff with this CODE; the code stays."""
    from tracelabels.workflows.keep_staff import erase_staff as erase

    with asked.opened() as here:
        done = erase(here, code, by=asked.by, reason=reason)
    if asked.as_json:
        answer({"code": done, "erased": True})
    say(f"Name and initials of staff {done} are erased; backups taken before still hold them.")
