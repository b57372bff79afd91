"""The errand to a trouble page: of the record itself, or of one of the client's circuits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from binder.errors import RequestError
from binder.trouble import ASKED_THROUGH, circuits_of
from tui.app.ask import Choose
from tui.app.lines import fit, line, width_of

if TYPE_CHECKING:
    from tui.app.binder_app import BinderApp


async def look(app: BinderApp, record_id: int) -> None:
    """Open the page of a record. Who stands on a person is asked which circuit is down."""
    if app.kind_of(record_id) not in ASKED_THROUGH:
        app.open_trouble(record_id)
        return
    circuits = circuits_of(app.binder, record_id)
    if not circuits:
        raise RequestError("no circuit in use is recorded; n on the list of circuits adds one")
    if len(circuits) == 1:
        app.open_trouble(circuits[0].id)
        return
    room = max(width_of(circuit.name) for circuit in circuits)
    rows = [
        (
            circuit.id,
            line(
                f" {fit(circuit.name, room)}  ",
                (f"{circuit['role'] or ''}, {circuit['provider'] or ''}", "label"),
            ),
        )
        for circuit in circuits
    ]
    chosen = await app.ask(Choose("Which circuit is down?", rows))
    if isinstance(chosen, int):
        app.open_trouble(chosen)
