"""Python's search for rings of objects, put to rest where very many are made that form none."""

from __future__ import annotations

import contextlib
import gc
from collections.abc import Iterator


def pass_over_what_stands() -> None:
    """Let the search for rings look only at what is made from now on: what was loaded to start
    with stays as long as the program."""
    gc.freeze()
    gc.enable()


@contextlib.contextmanager
def collector_at_rest() -> Iterator[None]:
    """Without the search for rings: records, blocks and tokens form none, and with hundreds of
    thousands of them it took as long as all else."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
