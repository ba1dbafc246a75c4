"""Which programme a load runs: one that is on file, kept with the load, or numbers that a person typed."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from tracelabels.custody import CycleKind, Goods, Load, Reason, ReasonKind
from tracelabels.cycles import Band, Programme, find_programme_file, list_programmes, parse_programme
from tracelabels.errors import InputError
from tracelabels.records import Reading, Writing
from tracelabels.templates import read_template
from tracelabels.words import in_words
from tracelabels.workflows.keep_evidence import find_content, keep_evidence
from tracelabels.workflows.practice import OWN_TEMPLATES, Practice

TYPED_SOURCE: Final = "typed at the load's start: nobody entered where these numbers come from"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedCycle:
    """What a load is to be run with."""

    programme: str
    """Name of the programme."""
    cycle_kind: CycleKind
    """Kind of cycle."""
    temperature_c: Decimal
    """Set temperature in degrees Celsius."""
    hold_minutes: Decimal
    """Set holding time in minutes."""
    goods: Goods
    """What it is for."""
    on_file: Programme | None
    """The programme's file, read; None if there is none of that name."""
    content: bytes | None
    """The very bytes that it was read from."""


def plan_cycle(
    practice: Practice,
    *,
    programme: str,
    cycle_kind: CycleKind,
    goods: Goods | None,
    temperature_c: Decimal | None,
    hold_minutes: Decimal | None,
) -> PlannedCycle:
    """Put together what a load is run with: what is typed, else what the programme's file says.

    Raises:
        InputError: the programme has no file, and temperature or holding time are not given.
        TemplateError: its file is wrong.
    """
    file = find_programme_file(programme, practice.folder / OWN_TEMPLATES)
    content = None if file is None else read_template(file)
    on_file = None if content is None else parse_programme(content, name=programme)
    if on_file is None and (temperature_c is None or hold_minutes is None):
        names = ", ".join(one.name for one in list_programmes(practice.folder / OWN_TEMPLATES))
        raise InputError(
            given=f"programme {programme!r} without a set temperature and holding time",
            expected=f"one that is on file ({names}), or both numbers",
            remedy="choose one, or read the numbers from the steriliser's manual",
        )
    return PlannedCycle(
        programme=programme,
        cycle_kind=cycle_kind,
        temperature_c=temperature_c if temperature_c is not None else _exact(on_file.band.set_c if on_file else 0.0),
        hold_minutes=hold_minutes if hold_minutes is not None else _exact(on_file.hold_minutes if on_file else 0.0),
        goods=goods or (on_file.goods if on_file else Goods.WRAPPED),
        on_file=on_file,
        content=content,
    )


def _exact(number: float) -> Decimal:
    return Decimal(f"{number:g}")


def programme_reasons(planned: PlannedCycle) -> Iterator[Reason]:
    """Give what speaks against running a programme so: other goods, another kind of cycle, less than it asks."""
    asked = planned.on_file
    if asked is None:
        return
    if planned.goods is not asked.goods:
        yield _wrong(f"programme {asked.name} is for {in_words(asked.goods)} goods, not for {in_words(planned.goods)}")
    if planned.cycle_kind not in asked.cycle_kinds:
        kinds = " or ".join(in_words(kind) for kind in asked.cycle_kinds)
        yield _wrong(f"programme {asked.name} is for {kinds} cycles, not for {in_words(planned.cycle_kind)}")
    if float(planned.temperature_c) < asked.band.set_c:
        yield _below(f"programme {asked.name} asks for {asked.band.set_c:g} C; {planned.temperature_c} C are set")
    if float(planned.hold_minutes) < asked.hold_minutes:
        yield _below(f"programme {asked.name} asks for {asked.hold_minutes:g} min; {planned.hold_minutes} min are set")


def _wrong(sentence: str) -> Reason:
    return Reason(kind=ReasonKind.WRONG_GOODS, sentence=sentence)


def _below(sentence: str) -> Reason:
    return Reason(kind=ReasonKind.BELOW_PROGRAMME, sentence=sentence)


def programme_warnings(planned: PlannedCycle) -> Iterator[Reason]:
    """Give what is to be looked at although the load starts: numbers, typed or a practice's own, below all shipped."""
    least = [
        one
        for one in list_programmes()
        if one.goods is planned.goods
        and planned.cycle_kind in one.cycle_kinds
        and float(planned.temperature_c) >= one.band.set_c
        and float(planned.hold_minutes) >= one.hold_minutes
    ]
    if not least:
        sentence = (
            f"{planned.temperature_c} C for {planned.hold_minutes} min reach none of the shipped programmes for "
            f"{in_words(planned.goods)} goods and {in_words(planned.cycle_kind)} cycles; follow the maker's manual"
        )
        yield _below(sentence)


def keep_programme(practice: Practice, ledger: Writing, planned: PlannedCycle) -> str | None:
    """Keep the programme's file as it was planned by among the evidence; return its digest, None without a file."""
    if planned.content is None:
        return None
    return keep_evidence(practice, ledger, planned.content, name=f"{planned.programme}.toml").digest


def programme_of(practice: Practice, ledger: Reading, load: Load) -> Programme:
    """Return what a load is judged by: its programme as it was at the start, never less than what was set.

    Raises:
        InputError: the file that was kept is missing or was changed.
    """
    if load.programme_file is not None:
        content = find_content(practice, ledger, load.programme_file)
        if content is None:
            raise InputError(
                given=f"the programme of load {load.number}, which is not among the evidence",
                expected="the file that was kept at its start",
                remedy="put back what was taken back, or restore it from a backup",
            )
        return _at_least_as_set(parse_programme(content, name=load.programme), load)
    return Programme(
        name=load.programme,
        title=f"{load.programme}: {load.temperature_c} C for {load.hold_minutes} min",
        goods=load.goods,
        cycle_kinds=(load.cycle_kind,),
        band=Band(set_c=float(load.temperature_c)),
        hold_minutes=float(load.hold_minutes),
        source=TYPED_SOURCE,
    )


def _at_least_as_set(programme: Programme, load: Load) -> Programme:
    """Return a programme that asks for no less than the steriliser was set to: less shows that something failed."""
    band = replace(programme.band, set_c=max(programme.band.set_c, float(load.temperature_c)))
    return replace(programme, band=band, hold_minutes=max(programme.hold_minutes, float(load.hold_minutes)))
