"""The list of commands, each loaded when it is called, and errors turned into exit codes.

Exit 0: done. Exit 1: a finding that must stop the user. Exit 2: wrong input or use, one sentence.
"""

import importlib
import sys
from pathlib import Path
from typing import Final

import click

from tracelabels.cli.answers import WRONG_INPUT
from tracelabels.cli.options import Before
from tracelabels.errors import TracelabelsError

# heading: name: (module, name there, one line for --help). A table, so that --help need not load the commands.
GROUPS: Final[dict[str, dict[str, tuple[str, str, str]]]] = {
    "To begin": {
        "demo": ("demo", "demo", "Play invented days from the bottle to the recall; leaves labels, pictures, reports."),
        "new": ("new", "new", "Make a practice's folder with commented settings and an empty ledger."),
    },
    "At the bench": {
        "product": ("bench", "product", "Enter a pigment: name, item number, maker, what carries it."),
        "receive": ("bench", "receive", "Enter a bottle that arrived: the maker's batch, its expiry."),
        "open": ("bench", "open_bottle", "Record that a bottle was opened, and how long it keeps from then."),
        "withdraw": ("bench", "withdraw", "Take a bottle out of use, with the reason."),
        "consumable": ("consumables", "consumable", "Enter a lot of what is used up on the way; withdraw one."),
        "prepare": ("bench", "prepare", "Prepare tubes from bottles; gives each tube its serial and use-by."),
        "pack": ("packing", "pack", "Put prepared tubes into pouches; gives each pouch its serial."),
        "stock": ("stock", "stock", "List what is in stock: what to take first, what expires, what is kept back."),
        "due": ("due", "due", "List what is due: tests, services, loads left half way, lots that expire, labels."),
    },
    "Labels and pictures": {
        "print": ("packing", "print_labels", "Print labels of tubes or pouches; proofed before the file appears."),
        "labels-used": ("due", "labels_used", "Say what became of printed labels: applied or destroyed."),
        "labels": (
            "labels",
            "labels",
            "Print labels straight from a list, without a ledger; or list layouts and sheets.",
        ),
        "align": ("labels", "align", "Print a page on which to measure how far a printer is off."),
        "check": ("check", "check", "Say whether labels will read, before the run and on the first sheet."),
        "scan": ("scan", "scan", "Read photographs of labels, and say what the ledger knows and whether to STOP."),
        "identify": ("identify", "identify", "Explain scanned texts, one on each line of standard input."),
    },
    "At the steriliser": {
        "steriliser": ("steriliser", "steriliser", "Enter a steriliser and the kinds of cycles that it runs."),
        "steriliser-day": ("steriliser", "steriliser_day", "Record what was done to a steriliser, or tested on it."),
        "return-to-service": (
            "steriliser",
            "return_to_service",
            "Return a steriliser to service after passed spore tests.",
        ),
        "load": ("loads", "load", "Start a steriliser load: pouches counted by hand and scanned."),
        "load-end": ("loads", "load_end", "Record how a load ended: complete or aborted."),
        "unload": ("loads", "unload", "Scan every pouch out of its load, and say which came out wet or torn."),
        "readings": ("readings", "readings", "Judge a load's readings by its programme, and record them."),
        "indicators": ("loads", "indicators", "Record a load's chemical indicators: exposure, not sterility."),
        "spore-test": (
            "decisions",
            "spore_test",
            "Record a spore test (biological indicator) that rides along in a load.",
        ),
        "spore-read": ("decisions", "spore_read", "Record what a spore test showed; growth holds all that it reaches."),
        "release": ("decisions", "release", "Release a load, reject it, or keep it in quarantine."),
        "lethality": (
            "lethality",
            "lethality",
            "Compute from a logger's file what a steriliser did.",
        ),
        "load-report": ("load_reports", "load_report", "Leave the page of a load for the inspector's folder, as PDF."),
        "logbook": ("load_reports", "logbook", "Leave a steriliser's logbook over some days, as PDF."),
    },
    "At the chair": {
        "client": ("clients", "client", "Register a client, change the care level, or show one."),
        "gate": ("chair", "gate", "Ask by a typed serial whether it may be used; STOP with every reason."),
        "open-pouch": ("chair", "open_pouch", "Record that a pouch was opened, what was seen and what the gate says."),
        "fill": ("chair", "fill", "Fill empty processed tubes at the chair; good for this session."),
        "use": ("using", "use", "Record everything used on a client; refused against STOP unless it happened."),
        "destroy": ("chair", "destroy", "Record that a thing, or what was left of it, was destroyed."),
        "move": ("chair", "move", "Record where things are: a shelf, a theatre, given away, lost."),
        "incident": ("reporting", "incident", "Report what should not have happened."),
        "adverse": ("reporting", "adverse", "Report that something went wrong with a client's health; close it later."),
    },
    "Tracing and recalls": {
        "look": ("look", "look", "Look up a serial, a batch, a lot, a code or a number: what is on record about it."),
        "trace": (
            "tracing",
            "trace",
            "Follow a batch, load, serial, lot, test or client both ways; shows it is complete.",
        ),
        "hold": ("decisions", "hold", "Keep bottles, pouches, loads or lots back at once."),
        "lift": ("decisions", "lift", "Lift a hold, with the reason."),
        "recall": ("recalling", "recall", "Ask what a recall would reach, start one, or see how one stands."),
        "recall-step": ("recalling", "recall_step", "Record what was done in a recall: a client reached, stock found."),
    },
    "The record and its keys": {
        "correct": ("correcting", "correct", "Correct fields of a recorded thing, with the reason."),
        "take-back": ("correcting", "take_back", "Take back what was recorded by mistake, with the reason."),
        "history": ("correcting", "history", "List every version of a recorded thing: who, when, why, what changed."),
        "evidence": ("evidence", "evidence", "Keep a photograph, logger file or document behind what is on record."),
        "open-evidence": ("evidence", "open_evidence", "Leave a copy of a kept file, opened."),
        "client-export": (
            "privacy",
            "client_export",
            "Export everything about one client: JSON, plain text, the files.",
        ),
        "erase-client": (
            "privacy",
            "erase_client",
            "Erase everything personal about a client, unless it must be kept.",
        ),
        "staff": ("privacy", "staff", "Enter a member of staff: the code for good, name and initials apart."),
        "erase-staff": ("privacy", "erase_staff", "Erase the name and initials of a member of staff."),
        "verify": ("keeping", "verify", "Check the ledger's chain of facts; names the first broken link."),
        "head": ("keeping", "head", "Leave the signed ends of the chains in a file, to be kept elsewhere."),
        "backup": ("keeping", "backup", "Leave a copy of everything in one file, and its keys in another."),
        "restore": ("keeping", "restore", "Put a backup back into a new folder, and verify it."),
    },
}
COMMANDS: Final = {name: entry for group in GROUPS.values() for name, entry in group.items()}


class _Commands(click.Group):
    """A group whose commands are loaded one by one, when called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module, name, _ = COMMANDS[cmd_name]
        command: click.Command = getattr(importlib.import_module(f"tracelabels.cli.{module}"), name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        width = max(map(len, COMMANDS))
        for heading, group in GROUPS.items():
            with formatter.section(heading):
                formatter.write_dl([(name.ljust(width), line) for name, (_, _, line) in group.items()])


@click.command(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110},
    epilog="Local codes, the steriliser's and the pigment maker's instructions and licensed practice come first. "
    "This program records and computes; it never declares anything sterile.",
)
@click.option("--practice", type=click.Path(path_type=Path, file_okay=False), help="The practice's folder.")
@click.option("--today", metavar="DATE", help="Take this as today's date (2026-11-25).")
@click.version_option(package_name="tracelabels", message="tracelabels %(version)s")
@click.pass_context
def commands(ctx: click.Context, practice: Path | None, today: str | None) -> None:
    """Labels and the record behind them, from pigment bottle through tube and pouch to the client.

    Start with 'tracelabels demo', or make a folder of your own with 'tracelabels new DIR'.
    'tracelabels COMMAND --help' explains a command.
    """
    ctx.obj = Before(practice=practice, today=today)


def main(arguments: list[str] | None = None) -> None:
    """Run a command and exit with its code; no traceback ever reaches a user."""
    try:
        code = commands.main(args=arguments, prog_name="tracelabels", standalone_mode=False)
    except TracelabelsError as problem:
        _say(str(problem))
        code = WRONG_INPUT
    except click.ClickException as problem:
        problem.show(sys.stderr)
        code = WRONG_INPUT
    except (click.Abort, KeyboardInterrupt):
        _say("stopped; nothing more was done")
        code = 130
    except BrokenPipeError:
        sys.stderr.close()
        code = 0
    except OSError as problem:
        _say(
            f"{problem.filename or 'the system'}: {problem.strerror or problem}; "
            "expected to be able to read and write there; nothing was left half written, mend it and try again"
        )
        code = WRONG_INPUT
    sys.exit(code if isinstance(code, int) else 0)


def _say(sentence: str) -> None:
    click.echo(f"tracelabels: {sentence}", err=True)
