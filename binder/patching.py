"""What is done at the face of hardware: a cord in, a cord out, a port set aside or marked."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Final

from binder.edit import Editor
from binder.errors import RequestError
from binder.faces import FacePort, Plugged
from binder.file import BinderFile
from binder.read import Record, read

_MEDIA: Final = {
    "8P8C": "4-pair", "6P6C": "4-pair", "110": "4-pair",
    "LC": "fibre", "SC": "fibre", "ST": "fibre", "MPO": "fibre",
    "coaxial F": "coaxial", "coaxial BNC": "coaxial",
}  # fmt: skip


def must_be_free(port: FacePort) -> None:
    """Raises RequestError, with what is in it, when a port has a cord."""
    if port.cord is not None:
        to = f" to {port.cord.far_name}" if port.cord.far_name else ""
        raise RequestError(f"{port.name} is taken: cord {port.cord.name}{to}; x unplugs it first")


def doubts(near: FacePort, far: FacePort) -> tuple[str, ...]:
    """What speaks against a cord between two free ports; each a sentence to be asked about.

    Raises RequestError where a cord cannot be at all.
    """
    if near.id == far.id:
        raise RequestError(f"a cord needs two different ports; both ends are at {near.name}")
    for port in (near, far):
        must_be_free(port)
    return tuple(_doubts(near, far))


def _doubts(near: FacePort, far: FacePort) -> Iterator[str]:
    for port in (near, far):
        if port.why:
            yield f"{port.name} is bad: {port.why}."
        if port.reserved_for:
            yield f"{port.name} is reserved for {port.reserved_for}."
        if port.is_passive and port.link is None:
            yield f"{port.name} is unterminated: no link behind it."
    media = {_MEDIA.get(port.connector) for port in (near, far)} - {None}
    if len(media) > 1:
        yield (f"{near.name} is {near.connector} and {far.name} is {far.connector}: "
               "no plain cord fits both.")  # fmt: skip


def plug_in(editor: Editor, near: FacePort, far: FacePort, today: date) -> Record:
    """Plug a cord in: one step. The cord gets the next number; gives it as it now stands."""
    doubts(near, far)
    ends = {"port_a": near.id, "port_b": far.id}
    values = ends | {"cable": _cable(editor.binder, near, far), "installed_on": today.isoformat()}
    with editor.step(f"patch {near.name} to {far.name}") as step:
        cord_id = step.add("cord", values)
    return read(editor.binder, cord_id)


def unplug(editor: Editor, cord: Plugged) -> None:
    """Note that a cord is not plugged in any more: one step.

    Its record stays, as removed: what the log tells of it stays true.
    """
    with editor.step(f"unplug {cord.name}") as step:
        step.change(cord.id, {"status": "removed"})


def set_aside(editor: Editor, port: FacePort, purpose: str) -> None:
    """Reserve a port for something; for nothing any more when that is empty."""
    what = f"reserve {port.name} for {purpose}" if purpose else f"{port.name} is not reserved"
    with editor.step(what) as step:
        step.change(port.id, {"reserved_for": purpose or None}, seen=port.seen)


def mark_bad(editor: Editor, port: FacePort, reason: str, today: date) -> None:
    """Mark a port bad, and why."""
    with editor.step(f"mark {port.name} bad: {reason}") as step:
        marks = {"condition": "bad", "condition_reason": reason}
        step.change(port.id, marks | {"condition_on": today.isoformat()}, seen=port.seen)


def mark_good(editor: Editor, port: FacePort, today: date) -> None:
    """Mark a port good again; why it was bad stays in the history."""
    with editor.step(f"mark {port.name} good") as step:
        marks = {"condition": "good", "condition_reason": None}
        step.change(port.id, marks | {"condition_on": today.isoformat()}, seen=port.seen)


def _cable(binder: BinderFile, near: FacePort, far: FacePort) -> str | None:
    """The cable of a cord between them: as the connectors have it, fibre as the link behind."""
    media = {_MEDIA.get(port.connector) for port in (near, far)} - {None}
    if media != {"fibre"}:
        return media.pop() if len(media) == 1 else None
    row = binder.connection.execute(
        "SELECT l.cable FROM link_end e JOIN link l ON l.id = e.link_id "
        "WHERE e.port_id IN (?, ?) AND l.cable LIKE '%fibre' LIMIT 1",
        (near.id, far.id),
    ).fetchone()
    return str(row[0]) if row else None
