"""A large binder to measure on: 10,000 ports and one on each phone, 4,000 links, 2,000 pieces of
hardware in 100 racks and rooms, PoE, UPSs, 50,000 changes. Addresses are private (RFC 1918) and
MACs locally administered, so that 2,000 differ.
"""

from __future__ import annotations

import itertools
from pathlib import Path

from binder.edit import Editor
from binder.file import BinderFile, create
from binder.step import Step

PANELS, OUTLETS, SWITCHES = 167, 1000, 83  # 24, 4 and 24 ports each: 10,000
LINKS, HARDWARE, CHANGES = 4000, 2000, 50_000
CHILDREN = 20  # switches that hang on one switch
UPSS = 20  # each feeds the switches of five rooms


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
            phones = _devices(step, spaces)
            panel_ports = list(itertools.chain.from_iterable(panels))
            outlet_ports = list(itertools.chain.from_iterable(outlets))
            _links(step, panel_ports, outlet_ports)
            _cords(step, switches, panel_ports)
            _plugged_in(step, phones, outlet_ports)
            _power(binder, step, spaces)
        _history(binder, editor, panel_ports)


def _places(step: Step) -> list[int]:
    building = step.add("building", {"identifier": "B1"})
    return step.add_many(
        "space",
        [
            {"identifier": f"{1 + n // 20}{chr(65 + n % 20)}", "building": building,
             "form": "telecommunications room", "cooling_w": 2000}
            for n in range(100)
        ],
    )  # fmt: skip


_OF_A_SWITCH = {"switch": {"base_power_w": 40, "power_factor": 0.95, "poe_budget_w": 370}}
_OF_A_PORT = {"switch": {"rate_mbps": 1000, "poe_type": "2"}}


def _rows_of(
    step: Step, form: str, prefix: str, count: int, ports: int, spaces: list[int]
) -> list[list[int]]:
    hardware = step.add_many(
        "hardware",
        [
            {"identifier": f"{prefix}{n}", "form": form, "space": spaces[n % len(spaces)],
             "category": "6A", "maker": "Norvane", "model": f"NV-{ports}",
             "serial": f"{prefix}-{n:05d}", **_OF_A_SWITCH.get(form, {})}
            for n in range(1, count + 1)
        ],
    )  # fmt: skip
    labels = [f"{label:02d}" for label in range(1, ports + 1)]
    made = step.add_many(
        "port",
        [
            {"hardware": owner, "label": label, "position": int(label), "vlan": 10 + int(label),
             "role": "uplink" if form == "switch" and label == "24" else "edge",
             **_OF_A_PORT.get(form, {})}
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


def _devices(step: Step, spaces: list[int]) -> list[int]:
    count = HARDWARE - PANELS - OUTLETS - SWITCHES - UPSS - 1
    return step.add_many(
        "hardware",
        [
            {"identifier": f"PH{n}", "form": "phone", "space": spaces[n % len(spaces)],
             "mac": f"02005E{n:06X}", "management_address": f"10.9.{n // 250}.{1 + n % 250}",
             "poe_class": 2, "poe_drawn_w": 4}
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


def _plugged_in(step: Step, phones: list[int], outlet_ports: list[int]) -> None:
    """A phone on each of the first jacks."""
    ports = step.add_many("port", [{"hardware": phone, "label": "1"} for phone in phones])
    pairs = zip(ports, outlet_ports, strict=False)
    step.add_many("cord", [{"port_a": a, "port_b": b, "length_m": 2} for a, b in pairs])


def _power(binder: BinderFile, step: Step, spaces: list[int]) -> None:
    """A rack a room for its switches and panels; a UPS and a branch circuit for every five."""
    racks = step.add_many(
        "rack",
        [
            {"identifier": f"R{n}", "space": space, "height_u": 42, "usable_depth_mm": 700,
             "bend_room_mm": 100, "load_rating_kg": 500}
            for n, space in enumerate(spaces, 1)
        ],
    )  # fmt: skip
    rack_of = dict(zip(spaces, racks, strict=True))
    upss = step.add_many(
        "hardware",
        [
            {"identifier": f"UPS{n}", "form": "UPS", "space": spaces[n * 5], "ups_rating_w": 4000,
             "ups_rating_va": 5000, "ups_efficiency_percent": 93,
             "runtime_curve": "500:90, 1000:40, 2000:15, 4000:5"}
            for n in range(UPSS)
        ],
    )  # fmt: skip
    circuits = step.add_many(
        "branch_circuit",
        [{"identifier": f"LP{n}", "rating_a": 50, "voltage_v": 208, "dedicated": True}
         for n in range(UPSS)],
    )  # fmt: skip
    inlets = [
        {"hardware": ups, "label": "IN", "branch_circuit": circuit}
        for ups, circuit in zip(upss, circuits, strict=True)
    ]
    held: dict[int, int] = {}
    for hardware, space, form in binder.connection.execute(
        "SELECT id, space_id, form FROM hardware WHERE form IN ('switch', 'patch panel')"
    ).fetchall():
        held[space] = held.get(space, 0) + 1
        place = {"rack": rack_of[space], "u_position": held[space], "height_u": 1}
        step.change(hardware, {**place, "depth_mm": 300, "weight_kg": 4})
        if form == "switch":
            feed = upss[spaces.index(space) // 5]
            inlets.append({"hardware": hardware, "label": "PS1", "fed_by": feed})
    step.add_many("inlet", inlets)


def _history(binder: BinderFile, editor: Editor, ports: list[int]) -> None:
    made = binder.connection.execute("SELECT count(*) FROM change").fetchone()[0]
    turns = itertools.cycle(ports)
    for number in range(0, CHANGES - made, 500):
        with editor.step(f"visit {number // 500}") as step:
            for n in range(number, min(number + 500, CHANGES - made)):
                step.change(next(turns), {"current_use": f"desk {n}"})
