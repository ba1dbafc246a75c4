"""Bringing a database to the newest revision when it is opened."""

from importlib.resources import as_file, files

from sqlalchemy import Connection, inspect, text

from tracelabels.errors import LedgerError
from tracelabels.records.schema import REVISION


def revision_of(connection: Connection) -> str | None:
    """Return the database's revision; None for an empty database."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one_or_none()


def migrate(connection: Connection, *, to: str = REVISION) -> None:
    """Bring the database to the newest revision, inside the unit of writing that the connection is in.

    Args:
        connection: in a unit of writing.
        to: another revision than the newest, for whoever needs a database as an older release left it.

    Raises:
        LedgerError: the database was written by a newer release.
    """
    from alembic import command  # noqa: PLC0415  heavy, and needed only for an old or an empty database
    from alembic.config import Config  # noqa: PLC0415  as above
    from alembic.util import CommandError  # noqa: PLC0415  as above

    with as_file(files("tracelabels.records").joinpath("migrations")) as folder:
        config = Config()
        config.set_main_option("script_location", str(folder).replace("%", "%%"))
        config.attributes["connection"] = connection
        try:
            command.upgrade(config, to)
        except CommandError as error:
            raise LedgerError(
                given=f"a ledger of revision {revision_of(connection)}",
                expected=f"revision {REVISION} or older",
                remedy="open it with the release that wrote it, or a newer one",
            ) from error
