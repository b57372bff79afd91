"""All about one port, in lines: what stands under a face."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from binder.faces import FacePort, Plugged, Reached
from binder.records.catalog import BY_NAME
from binder.records.values import show
from tui.app.face_lines import LOOKS, rear_state
from tui.app.lines import Line, Part, wrapped

LABELS: Final = 11  # cells of the column of labels


def about(
    port: FacePort, width: int, system: str, *, is_rear: bool = False
) -> tuple[list[Line], list[Line]]:
    """Its state, its use, what is plugged in, where that leads, what it carries, how it is.

    Labels and what they label are two columns: from port to port only the second one changes.
    """
    state = rear_state(port) if is_rear else port.state
    tells = f": {port.why}" if port.why else ""
    look = "" if is_rear else LOOKS[port.state]
    labels: list[Line] = [()]
    lines: list[Line] = [(Part(f"{port.name}  ", "strong"), Part(f"{state}{tells}", look))]
    for label, text in _rear_rows(port, system) if is_rear else _rows(port, system):
        for at, piece in enumerate(wrapped(text, width - 1)):
            labels.append((Part(f" {label}" if not at else "", "label"),))
            lines.append((Part(piece),))
    return labels, lines


def _rows(port: FacePort, system: str) -> Iterator[tuple[str, str]]:
    yield "Use", port.current_use or "-"
    yield "Cord", _plugged(port.cord, system)
    if port.is_passive or port.link is not None:
        yield "Link", _plugged(port.link, system) if port.link else "none: unterminated"
    yield "Leads to", ", ".join(_end(end) for end in port.reached) or "-"
    yield "VLAN", _vlan(port)
    yield "PoE", _poe(port)
    if port.reserved_for:
        yield "Reserved", f"for {port.reserved_for}"
    yield "Condition", _condition(port)


def _rear_rows(port: FacePort, system: str) -> Iterator[tuple[str, str]]:
    yield "Link", _plugged(port.link, system)
    yield "Leads to", ", ".join(_end(end) for end in port.reached) or "-"
    yield "Condition", _condition(port)


def _plugged(end: Plugged | None, system: str) -> str:
    if end is None:
        return "-"
    field = BY_NAME[end.kind].field("length_m")
    words = [
        f"{end.name} to {end.far_name or 'a far end not documented'}"
        + (f" in {end.far_space}" if end.far_space else ""),
        end.colour,
        show(field, end.length_m, system=system) if end.length_m is not None else "",
        f"tested {end.last_test}" if end.last_test else "never tested" * (end.kind == "link"),
        "" if end.status == "installed" else end.status,
    ]
    return ", ".join(word for word in words if word)


def _end(end: Reached) -> str:
    where = f" in {end.space}" if end.space else ""
    return f"{end.port_name} {end.form}{where}"


def _vlan(port: FacePort) -> str:
    """The VLAN of the port; of a panel, that of the switch port it is patched to."""
    own = _vlan_words(port.vlan, port.tagged_vlans)
    if own:
        return own
    for end in port.reached:
        words = _vlan_words(end.vlan, end.tagged_vlans)
        if words:
            return f"{words}, from {end.port_name}"
    return "-"


def _vlan_words(vlan: int | None, tagged: str) -> str:
    words = [str(vlan) if vlan is not None else "", f"tagged {tagged}" if tagged else ""]
    return ", ".join(word for word in words if word)


def _poe(port: FacePort) -> str:
    """What is supplied, and what the device at the end asks for and draws."""
    words = [f"supplies type {port.poe_type}"] if port.poe_type != "none" else []
    for end in port.reached:
        if end.poe_type != "none":
            words.append(f"type {end.poe_type} from {end.port_name}")
        needs = [f"class {end.poe_class}"] if end.poe_class is not None else []
        needs += [f"draws {end.poe_drawn_w:g} W"] if end.poe_drawn_w is not None else []
        if needs:
            words.append(f"{end.hardware_name} {', '.join(needs)}")
    return "; ".join(words) or "-"


def _condition(port: FacePort) -> str:
    words = [
        port.condition,
        f"since {port.condition_on}" if port.condition_on else "",
        "" if port.status == "installed" else port.status,
        port.connector,
        f"{port.rate_mbps:g} Mb/s" if port.rate_mbps else "",
        "" if port.role == "edge" else port.role,
    ]
    return ", ".join(word for word in words if word)
