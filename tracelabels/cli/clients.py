"""``tracelabels client``: clients registered, their care level, what is on record about one."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import answer, say
from tracelabels.cli.chair_options import personal_input
from tracelabels.cli.options import Recording, bench_options, find_day, gathered
from tracelabels.errors import InputError
from tracelabels.words import in_words

if TYPE_CHECKING:
    from tracelabels.workflows.practice import Practice
    from tracelabels.workflows.register_client import Personal, ShownClient

_PERSONAL = ("name", "birth_date", "identity_check", "hospital_number", "surgeon", "allergies", "consent", "contact")


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """What was typed after the command's name."""

    code: str | None
    """Code of the client."""
    care: str | None
    """Care level."""
    reason: str | None
    """Why the care level changes."""
    from_input: bool
    """Personal data come on standard input."""
    name: str | None
    """Name."""
    birth_date: str | None
    """Date of birth."""
    identity_check: str | None
    """How identity was checked."""
    hospital_number: str | None
    """Number in the hospital's record."""
    surgeon: str | None
    """Referring surgeon."""
    allergies: str | None
    """Allergies."""
    consent: str | None
    """Consent."""
    contact: str | None
    """How to reach the client."""


@click.command()
@click.argument("code", required=False)
@click.option("--care", type=click.Choice(["routine", "protected"]), help="Care level; not known counts as protected.")
@click.option("--reason", help="Why the care level of a client on record changes.")
@click.option("--personal", "from_input", is_flag=True, help="Read personal data as JSON on standard input.")
@click.option("--name", help="Name.")
@click.option("--birth-date", metavar="DATE", help="Date of birth.")
@click.option("--identity-check", help="How identity was checked.")
@click.option("--hospital-number", help="Number in the hospital's record.")
@click.option("--surgeon", help="Referring surgeon.")
@click.option("--allergies", help="Allergies, in words.")
@click.option("--consent", help="Consent: when it was given and where it is filed.")
@click.option("--contact", help="How to reach the client.")
@bench_options
@gathered(Chosen)
def client(asked: Recording, chosen: Chosen) -> None:
    """Register a client, change the care level of one, or show what is on record about CODE.

    With --care or personal data a new client is registered, without CODE under one that is made. For a client on
    record --care with --reason changes the care level. CODE alone shows the client.

    What is personal is sealed with the client's own key. Options stand in the shell's history; to keep them out of it,
    give one JSON object on standard input with --personal: {"name": "...", "contact": "..."}, with the options' names
    (birth_date, hospital_number ...).
    """
    given = {name: getattr(chosen, name) for name in _PERSONAL if getattr(chosen, name) is not None}
    personal = given | (personal_input(_PERSONAL) if chosen.from_input else {})
    with asked.opened() as here:
        done, what = _do(here, chosen, personal, by=asked.by)
    care = done.client.care_level
    said = "erased" if done.is_erased else f"{care.value if care else 'unknown, counts as protected'}"
    say(f"{what} client {done.client.code}: care level {said}.")
    _tell(done, as_json=asked.as_json)


def _do(here: "Practice", chosen: Chosen, personal: dict[str, str], *, by: str) -> "tuple[ShownClient, str]":
    """Show, change or register, as the options ask for."""
    from tracelabels.custody import CareLevel
    from tracelabels.workflows.register_client import find_client, register_client, set_care_level, show_client

    care = CareLevel(chosen.care) if chosen.care else None
    if chosen.code is not None and (find_client(here, chosen.code) or not (care or personal)):
        if personal:
            raise InputError(
                given=f"personal data for client {chosen.code}, who is on record",
                expected="--care with --reason, or nothing, for a client on record",
                remedy="correct what is on record with 'tracelabels correct'",
            )
        if care is None:
            return show_client(here, chosen.code), "Shown"
        set_care_level(here, chosen.code, care, reason=chosen.reason or "", by=by)
        return show_client(here, chosen.code), "Changed"
    if care is None and not personal:
        raise InputError(
            given="no code and nothing about a client",
            expected="a CODE to show, or --care and personal data to register",
            remedy="see 'tracelabels client --help'",
        )
    made = register_client(here, code=chosen.code, care_level=care, personal=_as_personal(personal), by=by)
    return show_client(here, made.code), "Registered"


def _as_personal(given: dict[str, str]) -> "Personal":
    from tracelabels.workflows.register_client import Personal

    return Personal(
        name=given.get("name"),
        birth_date=find_day(given.get("birth_date"), "birth date"),
        identity_check=given.get("identity_check"),
        hospital_number=given.get("hospital_number"),
        surgeon=given.get("surgeon"),
        allergies=given.get("allergies"),
        consent=given.get("consent"),
        contact=given.get("contact"),
    )


def _tell(done: "ShownClient", *, as_json: bool) -> None:
    record: dict[str, object] = {
        "client": done.client.code,
        "erased": done.is_erased,
        "care": done.client.care_level.value if done.client.care_level else None,
        "care_set_by": done.client.care_set_by,
        **{name: getattr(done.client, name) for name in _PERSONAL},
    }
    if as_json:
        answer(record)
        return
    for name, value in record.items():
        if value is not None and name in _PERSONAL:
            click.echo(f"  {in_words(name)}: {value}")
