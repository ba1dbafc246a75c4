"""Judge a logger's file, with or without a practice: what the steriliser did, and whether a programme is met."""

from dataclasses import dataclass, field
from pathlib import Path

from tracelabels.custody import ProbePlace
from tracelabels.cycles import CycleFindings, Programme, judge, require_programme, survey_programmes
from tracelabels.cycles.log import LoggedCycle, LogOptions, read_log
from tracelabels.errors import InputError, TemplateError
from tracelabels.workflows.templates import own_templates

__all__ = ["JudgedLog", "LogOptions", "LogOrder", "judge_log", "programme_here", "programmes_here"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LogOrder:
    """What is asked about a log."""

    probe: ProbePlace = ProbePlace.CHAMBER
    """Where it was measured."""
    options: LogOptions = field(default_factory=LogOptions)
    """What is said about the file, and not left to be guessed."""
    probe_error_k: float | None = None
    """How far the probe may be off in kelvin, as its calibration says; None if nobody said."""
    reference_c: float = 121.1
    """Reference temperature of F0 in degrees Celsius."""
    z_k: float = 10.0
    """Temperature rise that kills ten times as fast, in kelvin."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedLog:
    """A log that was read and judged."""

    logged: LoggedCycle
    """As read."""
    findings: CycleFindings
    """What follows."""


def judge_log(content: bytes, *, name: str, order: LogOrder, programme: Programme | None) -> JudgedLog:
    """Read a log and judge it by a programme.

    Args:
        content: of the file.
        name: of the file, for sentences.
        order: what is asked.
        programme: which the verdict is about; None for none.

    Raises:
        LogError: the file cannot be read as temperatures over time.
        InputError: a reference, z or probe error that cannot be.
    """
    _require_sound(order)
    logged = read_log(content, order.options, name=name)
    findings = judge(
        logged.readings,
        programme=programme,
        probe=order.probe,
        probe_error_k=order.probe_error_k,
        reference_c=order.reference_c,
        z_k=order.z_k,
    )
    return JudgedLog(logged=logged, findings=findings)


def programme_here(name: str, practice: Path | None) -> Programme:
    """Return a programme by its name: the practice's own if one lives here, else a shipped one.

    Raises:
        TemplateError: there is none of that name, or its file is wrong.
    """
    return require_programme(name, own_templates(practice))


def programmes_here(practice: Path | None) -> tuple[tuple[Programme, ...], tuple[TemplateError, ...]]:
    """Return the programmes at hand, and what is wrong with the others."""
    return survey_programmes(own_templates(practice))


def _require_sound(order: LogOrder) -> None:
    for what, value, least, most, unit in (
        ("reference", order.reference_c, 100, 140, "degrees Celsius"),
        ("z", order.z_k, 1, 50, "kelvin"),
        ("probe error", order.probe_error_k or 0.0, 0, 10, "kelvin"),
    ):
        if not least <= value <= most:
            raise InputError(
                given=f"{what} {value:g}", expected=f"{least} to {most} {unit}", remedy="correct the number"
            )
