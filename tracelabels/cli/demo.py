"""``tracelabels demo``: an invented day, end to end."""

from pathlib import Path

import click

from tracelabels.cli.answers import answer, say
from tracelabels.cli.options import as_json, chosen_day, today_option


@click.command()
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("tracelabels-demo"),
    show_default=True,
    help="Where the practice, its labels and pictures are left; made new.",
)
@today_option
@as_json
def demo(folder: Path, today: str | None, as_json: bool) -> None:
    """Play invented days: bottles, tubes, labels, photographs (simulated), loads, uses, and two recalls.

    It uses the same workflows as the commands, needs no network and no service, and leaves everything in a folder.
    """
    from tracelabels.workflows.demonstrate import demonstrate

    day = chosen_day(today)
    for number, step in enumerate(demonstrate(folder, today=day), 1):
        say(f"{number}. {step.heading}")
        for line in step.outcome:
            say(f"   {line}")
        for file in step.files:
            say(f"   -> {file}")
        if as_json:
            answer({"step": step.heading, "outcome": list(step.outcome), "files": [str(file) for file in step.files]})
    say()
    say("Local codes, the steriliser's and the pigment maker's instructions and licensed practice come first.")
    say("This program records and computes; it never declares anything sterile. Photographs are simulated, and say so.")
