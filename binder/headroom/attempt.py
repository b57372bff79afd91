"""A row whose figures do not make sense says so, and takes no other row with it."""

from __future__ import annotations

from collections.abc import Callable

from binder.headroom.rows import Row, Where, unknown


def attempt(
    resource: str, where: Where, unit: str, make: Callable[[], Row], caution: str = ""
) -> Row:
    """The row, or, where a formula refuses the figures recorded, a row that tells why."""
    try:
        return make()
    except ValueError as error:
        return unknown(resource, where, unit, (), says=str(error), caution=caution)
