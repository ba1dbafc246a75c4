"""``tracelabels new``: a practice's folder."""

from pathlib import Path

import click

from tracelabels.cli.answers import answer, say
from tracelabels.cli.options import as_json, chosen_today, today_option


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path, file_okay=False))
@click.option("--name", default="A practice", show_default=True, help="The practice's name, for printed pages.")
@click.option(
    "--site", type=click.IntRange(1, 99), default=1, show_default=True, help="Begins every serial of this place."
)
@click.option("--zone", default="UTC", show_default=True, help="The practice's time zone, such as Europe/Vienna.")
@today_option
@as_json
def new(folder: Path, name: str, site: int, zone: str, today: str | None, as_json: bool) -> None:
    """Make a practice's folder DIR: commented settings, an empty ledger, places for prints and evidence."""
    from tracelabels.workflows.new_practice import make_practice

    settings = make_practice(folder, name=name, site=site, zone=zone, today=chosen_today(today))
    if as_json:
        answer({"practice": str(folder), "settings": str(settings)})
        return
    say(f"Made {folder}. Read and edit {settings} first; then 'tracelabels --practice {folder} product --help'.")
