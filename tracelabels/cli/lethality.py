"""What a steriliser really did, from a logger's file: F0, plateau, saturation, a programme's verdict."""

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tracelabels.cli.answers import FINDING, answer, say
from tracelabels.cli.log_options import log_options, taken_log_options
from tracelabels.cli.options import Asked, practice_options
from tracelabels.errors import InputError
from tracelabels.words import in_words

if TYPE_CHECKING:
    from tracelabels.cycles import CycleFindings, Plateau
    from tracelabels.cycles.log import Guess, LoggedCycle
    from tracelabels.workflows.judge_log import LogOrder

PROBES = ("chamber", "reference-tube", "unknown")


@click.command()
@click.argument("log", required=False, metavar="[LOG.csv]", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--programme", metavar="NAME", help="What it is judged by; see --list.")
@click.option(
    "--probe",
    type=click.Choice(PROBES),
    default="chamber",
    show_default=True,
    help="Where it was measured; the chamber says nothing of the inside of a closed tube of liquid.",
)
@click.option(
    "--probe-error", type=float, metavar="K", help="How far the probe may be off, by its calibration; then it decides."
)
@click.option("--reference", type=float, default=121.1, show_default=True, metavar="C", help="Of F0.")
@click.option(
    "--z", type=float, default=10.0, show_default=True, metavar="K", help="Rise that kills ten times as fast."
)
@log_options
@click.option("--plot", type=click.Path(path_type=Path, dir_okay=False), help="Leave the curve: .pdf, .png or .svg.")
@click.option("--numbers", type=click.Path(path_type=Path, dir_okay=False), help="Leave every reading as CSV.")
@click.option("--list", "is_list", is_flag=True, help="List the programmes, with their sources.")
@practice_options
def lethality(
    asked: Asked,
    log: Path | None,
    programme: str | None,
    is_list: bool,
    plot: Path | None,
    numbers: Path | None,
    **said: Any,  # noqa: ANN401  what click read
) -> int:
    """Compute from LOG.csv what the steriliser did: lethality, plateau, saturation; with --programme, its verdict.

    Needs no practice. Whatever had to be assumed about the file is shown; options settle it. Exit 1 if the programme
    is not met, or if that cannot be told. Nothing here says that anything is sterile.
    """
    if is_list:
        return _list(asked)
    if log is None:
        raise InputError(given="no log", expected="a logger's file", remedy="name it, or ask with --list")
    from tracelabels.workflows.judge_log import judge_log, programme_here
    from tracelabels.workflows.keep_evidence import read_file
    from tracelabels.workflows.leave_curve import chart_of, leave_numbers, leave_plot, require_curve_places

    require_curve_places(plot, numbers, not_over=(log,))
    by = None if programme is None else programme_here(programme, asked.practice)
    judged = judge_log(read_file(log), name=log.name, order=_order(said), programme=by)
    if plot is not None:
        leave_plot(chart_of(judged), plot, title=log.name)
    if numbers is not None:
        leave_numbers(chart_of(judged), numbers)
    tell_judged(judged.logged, judged.findings)
    if asked.as_json:
        answer(judged_record(judged.logged, judged.findings))
    verdict = judged.findings.verdict
    return 0 if verdict is None or verdict.value == "met" else FINDING


def _order(said: dict[str, Any]) -> "LogOrder":
    from tracelabels.custody import ProbePlace
    from tracelabels.workflows.judge_log import LogOrder

    return LogOrder(
        probe=ProbePlace(said["probe"].replace("-", "_")),
        options=taken_log_options(said),
        probe_error_k=said["probe_error"],
        reference_c=said["reference"],
        z_k=said["z"],
    )


def _list(asked: Asked) -> int:
    from tracelabels.workflows.judge_log import programmes_here

    programmes, wrong = programmes_here(asked.practice)
    for one in programmes:
        if asked.as_json:
            answer(
                {
                    "programme": one.name,
                    "title": one.title,
                    "goods": one.goods.value,
                    "cycle_kinds": [kind.value for kind in one.cycle_kinds],
                    "set_c": one.band.set_c,
                    "above_k": one.band.above_k,
                    "hold_minutes": one.hold_minutes,
                    "source": one.source,
                }
            )
        else:
            click.echo(f"{one.name}\n    {one.title}\n    {one.source}")
    for problem in wrong:
        say(str(problem))
    return 2 if wrong else 0


def judged_record(logged: "LoggedCycle | None", found: "CycleFindings") -> dict[str, object]:
    """Return what was computed as JSON takes it; times in seconds since the first reading, lengths in minutes."""
    plateau, steam = found.plateau, found.saturation
    guesses = logged.guesses if logged else ()
    return {
        "f0": _number(found.lethality.f0),
        "f0_interval": [_number(end) for end in found.lethality.interval],
        "reference_c": found.lethality.reference_c,
        "z_k": found.lethality.z_k,
        "hold_minutes": _number(plateau.hold_minutes) if plateau else 0.0,
        "hold_interval": [_number(end) for end in plateau.hold_interval] if plateau else None,
        "plateau": _plateau(plateau) if plateau else None,
        "saturation": {
            "checked": steam is not None,
            "worst_difference_k": _number(steam.worst_difference_k) if steam else None,
            "suspicion": steam.suspicion.value if steam else None,
        },
        "assumed": {one.what: one.value for one in guesses},
        "assumed_because": {one.what: {"basis": one.basis.value, "because": one.because} for one in guesses},
        "oddities": [
            {"kind": one.kind.value, "line": one.line, "sentence": one.sentence}
            for one in (logged.oddities if logged else ())
        ],
        "probe": found.probe.value,
        "probe_error_k": found.probe_error_k,
        "programme": found.programme.name if found.programme else None,
        "verdict": found.verdict.value if found.verdict else None,
        "reasons": list(found.reasons),
        "notes": list(found.notes),
    }


def _plateau(plateau: "Plateau") -> dict[str, float | None]:
    return {
        "start": _number(plateau.span.start_s),
        "end": _number(plateau.span.end_s),
        "lowest": _number(plateau.lowest_c),
        "highest": _number(plateau.highest_c),
        "equilibration_s": _number(plateau.equilibration_s),
        "come_up_s": _number(plateau.come_up_s),
        "cooling_s": _number(plateau.cooling_s),
        "minutes_above": _number(plateau.minutes_above),
    }


def _number(value: float) -> float | None:
    """Return a number as JSON can carry it, with the digits that mean something."""
    return round(value, 4) if math.isfinite(value) else None


def tell_judged(logged: "LoggedCycle | None", found: "CycleFindings") -> None:
    """Say what was computed, what was assumed and what was odd."""
    low, high = found.lethality.interval
    say(f"F0 {found.lethality.f0:.1f} min ({low:.1f} to {high:.1f} if the probe is off by {found.probe_error_k:g} K)")
    if found.plateau is not None:
        plateau = found.plateau
        say(
            f"held {plateau.hold_minutes:.1f} min, {plateau.lowest_c:.1f} to {plateau.highest_c:.1f} C, "
            f"after {plateau.come_up_s / 60:.1f} min"
        )
    if found.saturation is not None:
        worst = round(found.saturation.worst_difference_k, 1) + 0.0  # never minus nought
        say(f"{worst:+.1f} K at most from saturated steam of the measured pressure")
    if found.verdict is not None and found.programme is not None:
        say(f"{found.programme.title}: {in_words(found.verdict).upper()}")
    for sentence in (*found.reasons, *found.notes):
        say(f"  {sentence}")
    if logged is not None:
        _tell_reading(logged)


def _tell_reading(logged: "LoggedCycle") -> None:
    """Say how a file was read, and what was odd in it."""
    say(f"  read as: {', '.join(_taken(one) for one in logged.guesses)}")
    for one in logged.guesses:
        if one.basis.value == "corrected":
            say(f"  corrected: {in_words(one.what)} is {one.value}{_because(one.because)}")
    for odd in logged.oddities:
        say(f"  {odd.sentence}")


def _taken(one: "Guess") -> str:
    """Say what was taken; what was only guessed bears a mark."""
    return f"{in_words(one.what)} {one.value}{' (guessed)' if one.basis.value == 'guessed' else ''}"


def _because(why: str) -> str:
    return f" ({why})" if why else ""
