"""What people say about a logger's file, so that it need not be guessed: options of every command that reads one."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final, TypeVar

import click

if TYPE_CHECKING:
    from tracelabels.cycles.log import LogOptions

Command = TypeVar("Command", bound=Callable[..., Any])

_OPTIONS: Final = (
    click.option("--separator", metavar="SIGN", help="Between columns: , ; | tab or space."),
    click.option("--decimal-mark", type=click.Choice((".", ",")), help="In numbers."),
    click.option("--time-unit", type=click.Choice(("s", "min")), help="Of a time that is a plain number."),
    click.option("--date-order", type=click.Choice(("dmy", "mdy", "ymd")), help="Of day, month and year."),
    click.option("--temperature-unit", type=click.Choice(("C", "F", "K"))),
    click.option("--pressure-unit", type=click.Choice(("kPa", "bar", "mbar", "psi", "MPa"))),
    click.option("--pressure-reference", type=click.Choice(("absolute", "gauge"))),
    click.option("--atmosphere", "atmosphere_kpa", type=float, metavar="KPA", help="Air pressure; lower at height."),
    click.option("--time-column", metavar="NAME", help="Name or number of the column of times."),
    click.option("--temperature-column", metavar="NAME", help="The same of temperatures."),
    click.option("--pressure-column", metavar="NAME", help="The same of pressures; none to read none."),
)
NAMES: Final = (
    "separator", "decimal_mark", "time_unit", "date_order", "temperature_unit", "pressure_unit", "pressure_reference",
    "atmosphere_kpa", "time_column", "temperature_column", "pressure_column",
)  # fmt: skip
"""What the options are called in a command's arguments."""
_SIGNS: Final = {"tab": "\t", "space": " "}


def log_options(command: Command) -> Command:
    """Add what can be said about a log; everything left out is guessed and shown."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def taken_log_options(values: Mapping[str, Any]) -> "LogOptions":
    """Return what was said about a log, from all that a command was called with."""
    from tracelabels.workflows.judge_log import LogOptions

    said = {name: values[name] for name in NAMES if values[name] is not None}
    if "separator" in said:
        said["separator"] = _SIGNS.get(said["separator"], said["separator"])
    return LogOptions(**said)
