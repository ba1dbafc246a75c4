"""``tracelabels erase-client``: what is personal, and how it goes."""

from pathlib import Path

import click

from tracelabels.cli.answers import answer, say
from tracelabels.cli.options import bench_options, opened

_REFUSED = 1


@click.command(name="erase-client")
@click.argument("code")
@click.option("--reason", required=True, help="Why; nothing personal, for it stays in the record.")
@bench_options
@click.pass_context
def erase_client(
    ctx: click.Context, code: str, reason: str, by: str, practice: Path | None, today: str | None, as_json: bool
) -> None:
    """Erase everything personal about the client with this CODE, for good.

    Refused while a recall that reaches the client, an adverse event or a rule of keeping is open. What was used, when
    and where it came from stays on record under the code.
    """
    from tracelabels.workflows.erase_client import NOT_REACHED
    from tracelabels.workflows.erase_client import erase_client as erase

    with opened(practice, today) as here:
        done = erase(here, code, by=by, reason=reason)
    if as_json:
        answer(
            {
                "client": done.client.text,
                "erased": not done.refused,
                "reasons": [one.sentence for one in done.refused],
                "facts": done.facts,
                "files": list(done.files),
                "left_over": list(done.left_over),
                "not_reached": [] if done.refused else list(NOT_REACHED),
            }
        )
    if done.refused:
        say(f"Client {done.client.text} is kept:")
        for one in done.refused:
            say(f"  {one.sentence}")
        ctx.exit(_REFUSED)
    say(f"Client {done.client.text} is erased.")
    say(f"  facts that lost what was personal: {done.facts}")
    say(f"  files destroyed: {len(done.files)}")
    for name in done.left_over:
        say(f"  {name} still holds the client's name, number or contact: take it away by hand")
    say("Not reached from here:")
    for sentence in NOT_REACHED:
        say(f"  {sentence}")
