"""Readings of a load: a logger's file or typed values, judged by the load's programme and recorded."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tracelabels.cli.answers import FINDING, answer, say
from tracelabels.cli.lethality import PROBES, judged_record, tell_judged
from tracelabels.cli.log_options import log_options, taken_log_options
from tracelabels.cli.options import Recording, bench_options, parse_number
from tracelabels.errors import InputError
from tracelabels.words import in_words

if TYPE_CHECKING:
    from tracelabels.custody import GaugeReading
    from tracelabels.workflows.record_readings import ReadingsFile, ReadingsOrder, RecordedReadings

_FILE = click.Path(path_type=Path, exists=True, dir_okay=False)


@click.command()
@click.argument("number", metavar="LOAD")
@click.option("--file", type=_FILE, help="The logger's file, or a picture of a printout; kept as evidence.")
@click.option("--reading", "typed", multiple=True, metavar="MINUTE=DEGREES[@KPA]", help="As read; repeat.")
@click.option("--source", type=click.Choice(("logger", "gauge", "printout")), help="Else by the file; none: gauge.")
@click.option(
    "--probe",
    type=click.Choice((*PROBES, "reference_tube")),
    default="chamber",
    show_default=True,
    help="Where it was measured; the chamber says nothing of the inside of a closed tube.",
)
@click.option("--probe-error", metavar="K", help="How far the probe may be off; else by its last calibration.")
@click.option("--verdict", type=click.Choice(("met", "not_met", "cannot_tell")), help="Your own judgement.")
@click.option("--reason", "reasons", multiple=True, help="Why you judge so; repeat.")
@log_options
@bench_options
def readings(asked: Recording, number: str, file: Path | None, **said: Any) -> int:  # noqa: ANN401  what click read
    """Judge the readings of LOAD by its programme, and record them with the file.

    You may be stricter than computing, and may settle what it cannot tell, with the reason; you cannot say *met* where
    the readings say that it is not. Exit 1 unless it is met.
    """
    from tracelabels.workflows.record_readings import ReadingsFile, record_readings

    kept = ReadingsFile(name=file.name, content=file.read_bytes()) if file else None
    with asked.opened() as here:
        done = record_readings(here, number, _order(said, kept), by=asked.by, file=kept)
    return _tell(number, done, as_json=asked.as_json)


def _order(said: dict[str, Any], file: "ReadingsFile | None") -> "ReadingsOrder":
    from tracelabels.custody import ProbePlace, ReadingsSource, ReadingsVerdict
    from tracelabels.workflows.record_readings import ReadingsOrder, source_of

    return ReadingsOrder(
        source=ReadingsSource(said["source"]) if said["source"] else source_of(file),
        probe=ProbePlace(said["probe"].replace("-", "_")),
        verdict=ReadingsVerdict(said["verdict"]) if said["verdict"] else None,
        typed=tuple(map(_reading, said["typed"])),
        reasons=said["reasons"],
        options=taken_log_options(said),
        probe_error_k=parse_number(said["probe_error"], "--probe-error") if said["probe_error"] else None,
    )


def _tell(number: str, done: "RecordedReadings", *, as_json: bool) -> int:
    recorded = done.readings
    if done.findings is not None:
        tell_judged(done.logged, done.findings)
    how = "computed" if recorded.computed is recorded.verdict else recorded.reasons[-1]
    say(f"Load {number}: readings {in_words(recorded.verdict)}, {how}.")
    if as_json:
        computed = None if done.findings is None else judged_record(done.logged, done.findings)
        answer(
            {
                "load": number,
                "verdict": recorded.verdict.value,
                "reasons": list(recorded.reasons),
                "evidence": recorded.evidence,
                "computed": computed,
            }
        )
    return 0 if recorded.verdict.value == "met" else FINDING


def _reading(text: str) -> "GaugeReading":
    from tracelabels.custody import GaugeReading

    minute, equals, rest = text.partition("=")
    degrees, _, pressure = rest.partition("@")
    if not equals:
        raise InputError(
            given=f"--reading {text!r}",
            expected="MINUTE=DEGREES or MINUTE=DEGREES@KPA",
            remedy="write it as 0=134.2@306",
        )
    return GaugeReading(
        minute=parse_number(minute, "--reading"),
        temperature_c=parse_number(degrees, "--reading"),
        pressure_kpa=parse_number(pressure, "--reading") if pressure else None,
    )
