"""A trace drawn as plain text: a line for each port and each cable, for a terminal or a page."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from binder.channel import Cable, Channel, Hop, Part
from binder.records.quantities import format_quantity
from binder.text import visible

if TYPE_CHECKING:
    from binder.trace import Trace
    from binder.uplinks import CircuitReached

COLUMNS = 78
_LONGEST_NAME = 20  # that others are lined up with


def path_lines(trace: Trace, system: str) -> tuple[str, ...]:
    """The path from the work area up to the circuits, at most 78 columns wide.

    Signs: `o` a port, `|` a cable, `^` a port left by toward the carrier, `x` an open end, `@` a
    circuit, `!` what is wrong. `system` is 'us' or 'metric' and says how lengths are shown. What
    people typed is neutralised: the lines are harmless to a terminal.
    """
    runs = (*trace.channels, *trace.uplinks)
    names = [hop.name for run in runs for hop in run.hops]
    names += [circuit.name for circuit in trace.circuits]
    width = min(max((_cells(visible(name)) for name in names), default=0), _LONGEST_NAME)
    lines: list[str] = []
    for run in trace.channels:
        lines += (*_run_lines(run, width, system), "")
    for run in trace.uplinks:
        lines += _run_lines(run, width, system, first="^")
    if trace.uplinks:
        lines.append("")
    for circuit in trace.circuits:
        lines += _circuit_lines(circuit, width)
    for sentence in trace.breaks:
        lines += _wrapped("! ", sentence)
    return tuple(lines)


def _run_lines(run: Channel, width: int, system: str, first: str = "o") -> Iterator[str]:
    sentences = list(run.open_ends)
    uses: set[str] = set()  # each told once, where it stands first
    if len(run.parts) > 1 and sentences and _is_open(run.parts[0]):
        yield from _wrapped("x ", sentences.pop(0))
    for part in run.parts:
        if isinstance(part, Hop):
            sign = first if part is run.parts[0] else "o"
            use = part.current_use if part.current_use not in uses else ""
            uses.add(part.current_use)
            yield from _named_line(sign, part.name, _about_port(part, use), width)
        else:
            yield from _wrapped("|   ", _about_cable(part, system))
    for sentence in sentences:
        yield from _wrapped("x ", sentence)
    if len(run.cables) > 1:
        yield from _wrapped("    ", _about_whole(run, system))
    for flag in run.flags:
        yield from _wrapped("  ! ", flag)


def _circuit_lines(circuit: CircuitReached, width: int) -> Iterator[str]:
    about = (
        f"{circuit.role} circuit".strip(),
        circuit.service,
        circuit.provider,
        f"at {circuit.through}" if circuit.through else "",
        circuit.status if circuit.status != "installed" else "",
    )
    yield from _named_line("@", circuit.name, ", ".join(filter(None, about)), width)
    asked = (
        f"circuit ID {circuit.circuit_id}" if circuit.circuit_id else "",
        f"support {circuit.support_phone}" if circuit.support_phone else "",
        f"24 h {circuit.support_phone_24h}" if circuit.support_phone_24h else "",
    )
    if any(asked):
        yield from _wrapped("    ", ", ".join(filter(None, asked)))


def _is_open(part: Part) -> bool:
    return isinstance(part, Cable) or part.is_passive


def _about_port(hop: Hop, use: str) -> str:
    in_rack = f"{hop.rack} U{hop.u_position}" if hop.u_position else hop.rack
    is_fed = not hop.is_passive
    facts = (
        hop.form,
        in_rack or " ".join(filter(None, (hop.space, hop.room))),
        hop.role if hop.role != "edge" else "",
        f"VLAN {hop.vlan}" if is_fed and hop.vlan else "",
        f"tagged {hop.tagged_vlans}" if is_fed and hop.tagged_vlans else "",
        f"PoE type {hop.poe_type}" if is_fed and hop.poe_type not in ("", "none") else "",
        use,
    )
    return ", ".join(filter(None, facts))


def _about_cable(cable: Cable, system: str) -> str:
    length = "length not recorded"
    if cable.length_m is not None:
        length = format_quantity(cable.length_m, "m", system)
    facts = (
        f"{cable.kind} {cable.name}",
        length,
        cable.cable if cable.cable != "4-pair" else "",
        cable.category,
        f"{cable.gauge_awg} AWG" if cable.gauge_awg else "",
        "shielded" if cable.shielded else "",
        f"{cable.test_result} {cable.tested_on}".strip(),
    )
    return ", ".join(filter(None, facts))


def _about_whole(run: Channel, system: str) -> str:
    least = "at least " if run.lengths.unknown else ""
    whole = f"in all {least}{format_quantity(run.lengths.total_m, 'm', system)}"
    if run.lengths.limit_m is not None:
        whole += f" of {format_quantity(run.lengths.limit_m, 'm', system)}"
    if run.lengths.cords_limit_m is not None and run.lengths.cords_m:
        cords = format_quantity(run.lengths.cords_m, "m", system)
        whole += f", cords {cords} of {format_quantity(run.lengths.cords_limit_m, 'm', system)}"
    return f"{whole}, category {run.category}" if run.category else whole


# Columns. ---------------------------------------------------------------------------------


def _named_line(sign: str, name: str, about: str, width: int) -> Iterator[str]:
    """`o SW1:01    switch, ...`; what does not fit goes on below, as far in."""
    name = visible(name)
    if _cells(name) > width:
        yield from _wrapped(f"{sign} ", name)
        yield from _wrapped(" " * (width + 4), about)
    else:
        yield from _wrapped(f"{sign} {name}{' ' * (width - _cells(name))}  ", about)


def _wrapped(beginning: str, text: str) -> Iterator[str]:
    """The text made harmless and cut into lines of 78 columns, between words where it can be."""
    indent = _cells(beginning)
    room = COLUMNS - indent
    current = ""
    for word in visible(text).split(" "):
        candidate = f"{current} {word}" if current else word
        if _cells(candidate) <= room:
            current = candidate
            continue
        if current:
            yield beginning + current
            beginning = " " * indent
        *full, current = _pieces(word, room)
        for piece in full:
            yield beginning + piece
            beginning = " " * indent
    yield (beginning + current).rstrip()


def _pieces(word: str, room: int) -> Iterator[str]:
    """A word cut where it must be; characters of two columns are not split."""
    piece = ""
    for character in word:
        if piece and _cells(piece + character) > room:
            yield piece
            piece = ""
        piece += character
    yield piece


def _cells(text: str) -> int:
    """How many columns the text takes; it must be free of controls."""
    if text.isascii():
        return len(text)
    from wcwidth import wcswidth  # only names beyond ASCII pay for it

    return int(wcswidth(text))
