"""A large binder to measure on: 10,000 ports, 4,000 links, 2,000 pieces of hardware, 50,000
changes. Addresses are private (RFC 1918) and MACs locally administered, so that 2,000 differ.
"""

from __future__ import annotations

import itertools
from pathlib import Path

from binder.edit import Editor, Step
from binder.file import BinderFile, create

PANELS, OUTLETS, SWITCHES = 167, 1000, 83  # 24, 4 and 24 ports each: 10,000
LINKS, HARDWARE, CHANGES = 4000, 2000, 50_000
CHILDREN = 20  # switches that hang on one switch


def generate(path: Path) -> None:
    """Make the binder at `path` through the edit door, as its users would have."""
    with create(path, "Bench client") as binder:
        editor = Editor(binder, "bench")
        with editor.step("build") as step:
            spaces = _places(step)
            switches = _rows_of(step, "switch", "SW", SWITCHES, 24, spaces)
            panels = _rows_of(step, "patch panel", "PP", PANELS, 24, spaces)
            outlets = _rows_of(step, "outlet", "OUT", OUTLETS, 4, spaces)
            _carrier(step, spaces[0], switches[0])
            _devices(step, spaces)
            panel_ports = list(itertools.chain.from_iterable(panels))
            outlet_ports = list(itertools.chain.from_iterable(outlets))
            _links(step, panel_ports, outlet_ports)
            _cords(step, switches, panel_ports)
        _history(binder, editor, panel_ports)


def _places(step: Step) -> list[int]:
    building = step.add("building", {"identifier": "B1"})
    return step.add_many(
        "space",
        [
            {"identifier": f"{1 + n // 20}{chr(65 + n % 20)}", "building": building, "form": "room"}
            for n in range(100)
        ],
    )


def _rows_of(
    step: Step, form: str, prefix: str, count: int, ports: int, spaces: list[int]
) -> list[list[int]]:
    hardware = step.add_many(
        "hardware",
        [
            {"identifier": f"{prefix}{n}", "form": form, "space": spaces[n % len(spaces)],
             "category": "6A", "maker": "Norvane", "model": f"NV-{ports}",
             "serial": f"{prefix}-{n:05d}"}
            for n in range(1, count + 1)
        ],
    )  # fmt: skip
    labels = [f"{label:02d}" for label in range(1, ports + 1)]
    made = step.add_many(
        "port",
        [
            {"hardware": owner, "label": label, "position": int(label), "vlan": 10 + int(label),
             "role": "uplink" if form == "switch" and label == "24" else "edge"}
            for owner in hardware
            for label in labels
        ],
    )  # fmt: skip
    return [made[start : start + ports] for start in range(0, len(made), ports)]


def _carrier(step: Step, space: int, core: list[int]) -> None:
    terminal = step.add(
        "hardware", {"identifier": "ONT1", "form": "carrier equipment", "space": space}
    )
    handoff = step.add("port", {"hardware": terminal, "label": "1", "role": "hand-off"})
    step.add(
        "circuit",
        {"identifier": "fibre", "service": "internet access", "circuit_id": "LKF-2203-118-QM",
         "support_phone": "+1 312 555 0160", "handoff_port": handoff},
    )  # fmt: skip
    step.add("cord", {"port_a": core[-1], "port_b": handoff, "length_m": 1})


def _devices(step: Step, spaces: list[int]) -> None:
    count = HARDWARE - PANELS - OUTLETS - SWITCHES - 1
    step.add_many(
        "hardware",
        [
            {"identifier": f"PH{n}", "form": "phone", "space": spaces[n % len(spaces)],
             "mac": f"02005E{n:06X}", "management_address": f"10.9.{n // 250}.{1 + n % 250}"}
            for n in range(1, count + 1)
        ],
    )  # fmt: skip


def _links(step: Step, panel_ports: list[int], outlet_ports: list[int]) -> None:
    step.add_many(
        "link",
        [
            {"identifier": f"1A-{chr(65 + n // 1000)}{n % 1000:03d}", "port_a": a, "port_b": b,
             "category": "6A", "length_m": 20 + n % 60}
            for n, (a, b) in enumerate(zip(panel_ports[:LINKS], outlet_ports, strict=True))
        ],
    )  # fmt: skip


def _cords(step: Step, switches: list[list[int]], panel_ports: list[int]) -> None:
    uplinks = [
        (ports[-1], switches[(n - 1) // CHILDREN][(n - 1) % CHILDREN])
        for n, ports in enumerate(switches)
        if n
    ]
    used = {port for pair in uplinks for port in pair} | {switches[0][-1]}
    edge = [port for ports in switches for port in ports if port not in used]
    pairs = uplinks + list(zip(edge, panel_ports, strict=False))
    step.add_many("cord", [{"port_a": a, "port_b": b, "length_m": 1} for a, b in pairs])


def _history(binder: BinderFile, editor: Editor, ports: list[int]) -> None:
    made = binder.connection.execute("SELECT count(*) FROM change").fetchone()[0]
    turns = itertools.cycle(ports)
    for number in range(0, CHANGES - made, 500):
        with editor.step(f"visit {number // 500}") as step:
            for n in range(number, min(number + 500, CHANGES - made)):
                step.change(next(turns), {"current_use": f"desk {n}"})
