"""Array work kept on one core: its products are small, and sharing them out costs more waiting than it saves."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from threading import Lock
from typing import Final

from threadpoolctl import ThreadpoolController

_HELD: Final = Lock()


@contextmanager
def on_one_core() -> Iterator[None]:
    """Keep the process's linear algebra on one core within this block.

    A library's number of threads belongs to the process: the first of several threads in such a block sets it to one
    and, leaving, puts back what was there; the others leave it alone.
    """
    if not _HELD.acquire(blocking=False):
        yield
        return
    try:
        with _libraries().limit(limits=1, user_api="blas"):
            yield
    finally:
        _HELD.release()


@cache
def _libraries() -> ThreadpoolController:
    """Return what sets the numbers of threads; looking for the loaded libraries takes milliseconds."""
    return ThreadpoolController()
