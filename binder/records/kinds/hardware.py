"""Hardware and what keeps it running: power feeds, configuration copies, spares."""

from __future__ import annotations

from binder.records.fields import (
    Kind,
    Rule,
    Type,
    choice,
    cleared,
    count,
    date,
    flag,
    identifier,
    lines,
    money,
    number,
    of,
    only_for,
    owner,
    ref,
    subject,
    text,
)

DIVIDER = "Racks"

PASSIVE = ("patch panel", "outlet", "coupler")  # cable passes through from front to rear
DRESSING = ("blank", "cable manager", "rack shelf")
UPSTREAM = ("gateway", "carrier equipment")
FORMS = (
    "switch, gateway, carrier equipment, access point, camera, recorder, phone, "
    "door controller, server, storage, UPS, power strip, PoE injector, media converter, "
    "modem, printer, workstation, patch panel, outlet, coupler, blank, cable manager, "
    "rack shelf, other"
)

# What can supply power over Ethernet, what has a face of ports, what can be powered by its cable.
_POWERS = "switch, PoE injector, gateway, media converter, other"
_FACED = "switch, gateway, patch panel, PoE injector, power strip, other"
_POWERED = (
    "access point, camera, phone, door controller, switch, media converter, modem, printer, "
    "workstation, gateway, carrier equipment, other"
)

HARDWARE = Kind(
    "hardware", "hardware", "Hardware", DIVIDER,
    "Anything with a place: active equipment, connecting hardware, dressing.",
    (
        identifier("A place or a series, never what it serves.", "SW1"),
        choice("form", "Kind", FORMS, required=True),
        text("description", "Description", "What it is, in a few words.",
             "access switch, 24 port"),
        text("maker", "Maker", "", "Norvane"),
        text("model", "Model", "", "NV-2400P"),
        text("serial", "Serial", "", "NV24P-004417", compact=True),
        text("asset_tag", "Asset tag", "", "QVC-0031", compact=True),
        text("firmware", "Firmware", "", "4.2.1"),
        date("support_ends_on", "Support ends", "The maker's last day of fixes."),
        ref("rack", "Rack", "rack", "The rack it is in.", "1A-R1"),
        count("u_position", "U", "Lowest U it takes.", "16", minimum=1),
        count("height_u", "Height", "Rack units; 0 for hardware without any.", "1", maximum=60,
              unit="U"),
        choice("face", "Face", "front, rear, both", "Which side of the rack it takes.",
               default="front"),
        cleared(ref("space", "Space", "space", "Where it is when not in a rack.", "114")),
        text("place", "Place", "In words.", "left of the window, 400 mm up"),
        number("depth_mm", "Depth", "", "280"),
        number("weight_kg", "Weight", "", "4.1"),
        of(Type.IP, "management_address", "Management address", "", "192.0.2.2", internal=True),
        of(Type.MAC, "mac", "MAC", "", "00-00-5E-00-53-01"),
        text("owner", "Owner", "Who owns it.", "client"),
        flag("approved", "Approved", "Approved to connect."),
        choice("criticality", "Criticality", "high, normal, low"),
        text("supplier", "Supplier", "", "Marrow & Pike Supply"),
        money("price", "Price"),
        date("installed_on", "Installed on"),
        text("installed_by", "Installed by", "", "Lowfield Network Works"),
        number("expected_life_years", "Expected life", "", "7"),
        number("base_power_w", "Base power", "Drawn by itself, without PoE it supplies.", "28"),
        number("maximum_power_w", "Maximum power", "From its plate, PoE included.", "450"),
        number("power_factor", "Power factor", "", "0.95", unit="", maximum=1),
        *only_for(
            _POWERS,
            number("poe_budget_w", "PoE budget", "All ports together.", "370"),
        ),
        *only_for(
            _FACED,
            count("face_rows", "Face rows", "Rows of ports on the front.", "2", minimum=1,
                  maximum=4),
            choice("face_order", "Face order", "in order, odd over even",
                   "How ports are numbered on the front."),
        ),
        *only_for(
            _POWERED,
            count("poe_class", "PoE class", "The class it asks for, 0 to 8 (IEEE 802.3).", "4",
                  maximum=8),
            number("poe_drawn_w", "PoE drawn", "Measured or from its sheet.", "11.5"),
        ),
        *only_for(
            "UPS",
            number("ups_rating_va", "UPS rating", "", "1500"),
            number("ups_rating_w", "UPS rating", "", "1000"),
            number("ups_efficiency_percent", "UPS efficiency", "", "92", maximum=100),
            number("battery_wh", "Battery energy", "Nominal, all packs.", "432"),
            text("battery_part", "Battery part", "", "B-12-9"),
            date("battery_installed_on", "Battery installed"),
            number("battery_life_years", "Battery design life", "At 25 C, from its sheet.", "5"),
            of(Type.CURVE, "runtime_curve", "Runtime table",
               "The maker's, watts:minutes, from least to most load.", "200:48, 400:20, 800:7"),
        ),
        *only_for(
            "recorder, server, storage",
            count("rated_cameras", "Rated cameras", "", "16"),
            number("rated_mbps", "Rated rate", "All cameras together.", "160"),
            count("disks", "Disks", "", "4"),
            number("disk_gb", "Disk size", "Each; decimal gigabytes.", "8000"),
            choice("raid_level", "RAID level", "none, 0, 1, 5, 6, 10"),
            number("retention_target_days", "Retention target", "", "30"),
        ),
        *only_for(
            "camera",
            number("bit_rate_mbps", "Bit rate", "Mean while recording.", "4"),
            number("recorded_hours_a_day", "Recorded", "Hours a day.", "24", unit="", maximum=24),
            ref("recorder", "Recorder", "hardware", "What records it.", "REC1"),
        ),
        *only_for(
            "patch panel, outlet, coupler",
            text("category", "Category", "3, 5, 5e, 6, 6A, 7, 7A, 8, or the fibre type.", "6A"),
            flag("shielded", "Shielded"),
        ),
    ),
    columns=("form", "model", "rack", "u_position"),
    rules=(
        Rule("u_position IS NULL OR rack_id IS NOT NULL", "a U position needs a rack"),
        Rule("rack_id IS NULL OR height_u IS NOT NULL", "hardware in a rack needs its height in U"),
    ),
)

BRANCH_CIRCUIT = Kind(
    "branch_circuit", "branch_circuits", "Branch circuit", DIVIDER,
    "The electrical circuit that feeds strips, UPSs and outlets. Mains work is for licensed "
    "persons, by the local code.",
    (
        identifier("Panel and breaker.", "LP1-12"),
        text("panel", "Panel", "", "LP1"),
        text("breaker", "Breaker", "", "12"),
        number("rating_a", "Rating", "Breaker rating.", "20"),
        number("voltage_v", "Voltage", "", "120"),
        count("phases", "Phases", "", "1", minimum=1, maximum=3, default=1),
        flag("generator_backed", "Generator", "Fed by the generator when the mains fails."),
        flag("dedicated", "Dedicated", "Feeds nothing else."),
        ref("space", "Space", "space", "Where its outlets are.", "1A"),
        number("other_load_w", "Other load", "What else hangs on it, not in this binder.", "300"),
    ),
    columns=("rating_a", "voltage_v", "space"),
)

INLET = Kind(
    "inlet", "inlets", "Inlet", DIVIDER,
    "A power supply of a piece of hardware, and what feeds it.",
    (
        owner("hardware", "Hardware", "hardware", "What is fed.", "SW1"),
        text("label", "Inlet", "The supply's mark.", "PS1", required=True),
        cleared(ref("fed_by", "Fed by", "hardware", "The UPS or power strip.", "UPS1")),
        text("outlet", "Outlet", "Which outlet of it.", "3"),
        cleared(ref("branch_circuit", "Branch circuit", "branch_circuit",
                    "When fed straight from the wall.", "LP1-12")),
        text("cord", "Cord", "Type and length.", "C13, 1 m"),
    ),
    named_by=("hardware", "label"), separator=" inlet ",
    columns=("fed_by", "outlet", "branch_circuit"),
    rules=(
        Rule("fed_by_id IS NULL OR branch_circuit_id IS NULL",
             "an inlet is fed by hardware or by a branch circuit, not by both"),
        Rule("fed_by_id IS NULL OR fed_by_id <> hardware_id", "hardware cannot feed itself"),
    ),
)

CONFIGURATION_COPY = Kind(
    "configuration_copy", "configuration_copies", "Configuration copy", DIVIDER,
    "A copy of a device's configuration, and where it is kept.",
    (
        identifier("Numbered when left empty.", "CC-0001", required=False),
        owner("hardware", "Hardware", "hardware", "Whose configuration.", "SW1"),
        date("taken_on", "Taken on", required=True),
        text("taken_by", "Taken by", "", "M. Osei"),
        text("file_name", "File", "", "sw1-2026-03-14.cfg"),
        text("sha256", "SHA-256", "", "hex digits"),
        text("kept_at", "Kept at", "", "shop safe, folder 12"),
        date("restore_tried_on", "Restore tried"),
    ),
    series="CC-", columns=("hardware", "taken_on", "kept_at"),
)

SPARE = Kind(
    "spare", "spares", "Spare", DIVIDER,
    "A part kept for repair.",
    (
        identifier("The part.", "B-12-9 battery pack", "Part"),
        subject("fits", "Fits", "What it fits.", "UPS1"),
        count("quantity", "Quantity", "", "2", required=True, default=0),
        count("least_quantity", "Least", "Order when fewer.", "1", default=0),
        text("kept_at", "Kept at", "", "shelf over 1A-R1"),
        text("supply_source", "Supplier", "", "Marrow & Pike Supply"),
        money("unit_price", "Unit price"),
        number("lead_time_days", "Lead time", "", "10"),
        date("replace_by", "Replace by", "Shelf life."),
        date("tested_on", "Tested on"),
    ),
    columns=("quantity", "least_quantity", "kept_at"),
)

TEMPLATE = Kind(
    "template", "templates", "Template", DIVIDER,
    "A thing often added, for planning ahead.",
    (
        identifier("What it is called when typed.", "storage server"),
        choice("form", "Kind", FORMS, required=True, default="other"),
        count("height_u", "Height", "", "2", unit="U"),
        number("depth_mm", "Depth", "", "700"),
        number("weight_kg", "Weight", "", "18"),
        number("base_power_w", "Base power", "", "150"),
        number("poe_budget_w", "PoE budget", "", "370"),
        count("poe_class", "PoE class", "", "6", maximum=8),
        count("ports_needed", "Ports needed", "Network ports it takes.", "2"),
        count("addresses_needed", "Addresses needed", "", "1"),
        number("bit_rate_mbps", "Bit rate", "Cameras.", "4"),
        money("price", "Price"),
        lines("basis", "Basis", "Where the figures are from.", "maker's sheet of 2026"),
    ),
    columns=("form", "height_u", "base_power_w"), statuses=("current", "planned", "former"),
)

KINDS = (HARDWARE, BRANCH_CIRCUIT, INLET, CONFIGURATION_COPY, SPARE, TEMPLATE)
