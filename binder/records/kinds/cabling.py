"""Cabling administration in the manner of ANSI/TIA-606: ports, links, cords, tests, pathways."""

from __future__ import annotations

from binder.records.fields import (
    Kind,
    Rule,
    choice,
    cleared,
    count,
    date,
    flag,
    identifier,
    lines,
    number,
    owner,
    ref,
    text,
)

DIVIDER = "Patching"

CONNECTORS = "8P8C, LC, SC, ST, MPO, SFP, coaxial F, coaxial BNC, 110, 6P6C, USB, other"
CABLES = "4-pair, singlemode fibre, multimode fibre, coaxial, multipair, other"
COLOURS = "orange, green, purple, white, gray, brown, blue, yellow, red"  # ANSI/TIA-606 fields

PORT = Kind(
    "port", "ports", "Port", DIVIDER,
    "A point on hardware where something plugs in.",
    (
        owner("hardware", "Hardware", "hardware", "What it is on.", "1A-A"),
        text("label", "Label", "As marked beside it.", "07", required=True),
        count("position", "Position", "Its order on the face.", "7", minimum=1),
        choice("connector", "Connector", CONNECTORS, default="8P8C"),
        choice("role", "Role", "edge, uplink, hand-off",
               "An uplink leads toward the carrier.", default="edge"),
        number("rate_mbps", "Rate", "The fastest it goes.", "1000"),
        choice("poe_type", "PoE type", "none, 1, 2, 3, 4",
               "What it can supply (IEEE 802.3 type).", default="none"),
        choice("field_colour", "Field colour", COLOURS, "Termination field, ANSI/TIA-606."),
        count("vlan", "VLAN", "Untagged VLAN id, 1 to 4094 (IEEE 802.1Q).", "20", minimum=1,
              maximum=4094),
        text("tagged_vlans", "Tagged VLANs", "Ids parted by commas.", "20,30"),
        text("current_use", "Current use", "What it serves today; never part of its label.",
             "front desk phone"),
        choice("condition", "Condition", "good, bad, unknown", default="unknown"),
        text("condition_reason", "Why", "Why it is bad.", "bent contact, pin 4"),
        date("condition_on", "Condition since"),
        text("reserved_for", "Reserved for", "", "door controllers, phase 2"),
        count("unterminated_pairs", "Unterminated pairs", "", "0"),
        count("damaged_pairs", "Damaged pairs", "", "0"),
    ),
    named_by=("hardware", "label"), separator=":",
    columns=("role", "vlan", "current_use", "condition"),
)

LINK = Kind(
    "link", "links", "Link", DIVIDER,
    "A permanent link: cable fixed between the rear of two ports.",
    (
        identifier("Space, panel and port for a horizontal link.", "1A-A07"),
        cleared(ref("port_a", "Panel end", "port", "The end nearer the equipment room.",
                    "1A-A:07")),
        cleared(ref("port_b", "Far end", "port", "The outlet or far panel.", "114-1:A")),
        text("cable_name", "Cable", "The cable it is part of, when that has a name of its own.",
             "1A/2A-1"),
        choice("cable", "Cable type", CABLES, required=True, default="4-pair"),
        text("category", "Category", "3, 5, 5e, 6, 6A, 7, 7A, 8, or OM3, OS2 and so on.", "6A"),
        flag("shielded", "Shielded"),
        count("gauge_awg", "Gauge", "Conductor size.", "23", minimum=16, maximum=30, unit="AWG"),
        number("length_m", "Length", "Sheath length.", "38.5"),
        number("outside_diameter_mm", "Outside diameter", "From the cable's sheet.", "7.4"),
        choice("termination", "Termination", "T568B, T568A, mixed, not terminated"),
        text("installed_by", "Installed by", "", "Lowfield Network Works"),
        date("installed_on", "Installed on"),
        text("changed_by", "Changed by", "Who last changed it; the warranty follows.", ""),
        date("changed_on", "Changed on"),
        flag("tagged_for_use", "Tagged", "An unused cable tagged for future use (NEC 800)."),
        flag("accessible", "Accessible", "An abandoned one could be taken out."),
        # fibre
        count("strands", "Strands", "", "2"),
        count("mated_pairs", "Mated pairs", "Connector pairs along it.", "2"),
        count("splices", "Splices", "", "0"),
    ),
    columns=("port_a", "port_b", "category", "length_m"),
    rules=(Rule("port_a_id IS NULL OR port_b_id IS NULL OR port_a_id <> port_b_id",
                "a link needs two different ports"),),
)

CORD = Kind(
    "cord", "cords", "Cord", DIVIDER,
    "A patch or equipment cord between the fronts of two ports.",
    (
        identifier("Numbered when left empty.", "C-0001", required=False),
        ref("port_a", "End A", "port", "", "1A-A:07", required=True),
        ref("port_b", "End B", "port", "", "SW1:07", required=True),
        number("length_m", "Length", "", "1"),
        count("gauge_awg", "Gauge", "", "28", minimum=16, maximum=32, unit="AWG"),
        text("category", "Category", "", "6A"),
        flag("shielded", "Shielded"),
        text("colour", "Colour", "", "blue"),
        choice("cable", "Cable type", CABLES, default="4-pair"),
        date("installed_on", "Installed on"),
    ),
    series="C-", columns=("port_a", "port_b", "length_m", "colour"),
    rules=(Rule("port_a_id <> port_b_id", "a cord needs two different ports"),),
)

INSTRUMENT = Kind(
    "instrument", "instruments", "Instrument", DIVIDER,
    "A test instrument and its calibration.",
    (
        identifier("Its serial or your own number.", "TST-1"),
        text("description", "Description", "", "certification tester"),
        text("maker", "Maker", "", "Gaugeworks"),
        text("model", "Model", "", "CT-500"),
        text("serial", "Serial", "", "500-1187", compact=True),
        text("software", "Software", "Version.", "6.4"),
        date("calibrated_on", "Calibrated on"),
        date("calibration_due_on", "Calibration due"),
        text("certificate", "Certificate", "", "CAL-2026-118"),
    ),
    columns=("description", "calibrated_on", "calibration_due_on"),
    statuses=("current", "planned", "former"),
)

TEST = Kind(
    "test", "tests", "Test", DIVIDER,
    "A test of a link; never overwritten, a retest follows it.",
    (
        identifier("Numbered when left empty.", "T-0001", required=False),
        ref("link", "Link", "link", "What was tested.", "1A-A07", required=True),
        text("strand", "Strand", "Which strand, for fibre.", "1"),
        date("tested_on", "Tested on", required=True),
        text("tested_by", "Tested by", "", "M. Osei"),
        ref("instrument", "Instrument", "instrument", "", "TST-1"),
        text("limit_name", "Limit", "What it was tested against.",
             "ANSI/TIA-568.2-D permanent link, category 6A"),
        choice("result", "Result", "pass, marginal, fail", required=True),
        number("length_m", "Length", "", "38.5"),
        number("worst_margin_db", "Worst margin", "", "4.2", unit="db", minimum=None),
        text("errors_found", "Errors found", "", "split pair 3-6"),
        cleared(ref("follows", "Follows", "test", "The earlier test it retests.", "T-0001")),
        text("native_file", "Native file", "The tester's own file.", "quillmere-1A-A.tst"),
        text("sha256", "SHA-256", "Of the native file.", "hex digits"),
        text("reviewed_by", "Reviewed by", "", "R. Adeyemi"),
        date("reviewed_on", "Reviewed on"),
        text("marginal_reason", "Marginal because", "", "over-length by design"),
    ),
    series="T-", columns=("link", "tested_on", "result", "worst_margin_db"),
    statuses=("current", "planned", "former"),
)

LOSS = Kind(
    "loss", "losses", "Measured loss", DIVIDER,
    "Loss of a strand at one wavelength in one direction. Never look into a fibre end.",
    (
        owner("test", "Test", "test", "", "T-0001"),
        count("wavelength_nm", "Wavelength", "", "1310", required=True, unit="nm"),
        choice("direction", "Direction", "A to B, B to A", required=True),
        number("loss_db", "Loss", "", "0.62", unit="db", required=True),
        number("limit_db", "Limit", "The calculated budget.", "1.8", unit="db"),
    ),
    named_by=("test", "wavelength_nm", "direction"),
    columns=("loss_db", "limit_db"), statuses=("current", "planned", "former"),
)

PATHWAY = Kind(
    "pathway", "pathways", "Pathway", DIVIDER,
    "Conduit, tray, hooks or raceway (ANSI/TIA-569).",
    (
        identifier("Number it as your drawings do.", "CD-01"),
        choice("form", "Kind", "conduit, tray, basket, hooks, raceway, sleeve, duct",
               required=True),
        ref("from_space", "From", "space", "", "1A"),
        ref("to_space", "To", "space", "", "1B"),
        text("trade_size", "Trade size", "For conduit.", "1-1/4"),
        number("inside_diameter_mm", "Inside diameter", "", "35.1"),
        number("width_mm", "Width", "Tray or raceway.", "100"),
        number("height_mm", "Height", "Tray or raceway.", "50"),
        number("length_m", "Length", "", "24"),
        text("material", "Material", "", "EMT"),
        flag("nipple", "Nipple", "600 mm (24 in) or less."),
        count("bends", "Bends", "", "2"),
        flag("pull_string", "Pull string"),
        text("owner", "Owner", "", "client"),
    ),
    columns=("form", "from_space", "to_space", "trade_size"),
)

RUN = Kind(
    "run", "runs", "Run", DIVIDER,
    "That a link runs through a pathway.",
    (
        owner("link", "Link", "link", "", "1A-A07"),
        ref("pathway", "Pathway", "pathway", "", "CD-01", required=True),
        count("step", "Step", "Its order along the link.", "1", minimum=1),
    ),
    named_by=("link", "pathway"), separator=" in ", columns=("step",),
)

FIRESTOP = Kind(
    "firestop", "firestops", "Firestop", DIVIDER,
    "A seal where cable passes a rated wall or floor.",
    (
        identifier("Floor, FSL and number, rating in brackets.", "1-FSL01(2)"),
        ref("pathway", "Pathway", "pathway", "", "CD-01"),
        ref("space", "Space", "space", "The space it is reached from.", "1A"),
        text("place", "Place", "", "north wall, above the door"),
        text("system", "System", "Listed system number.", "C-AJ-0000"),
        text("maker", "Maker", "", "Sealwright"),
        number("rating_h", "Rating", "Hours.", "2", unit="hours"),
        date("installed_on", "Installed on"),
        text("installed_by", "Installed by", "", "Lowfield Network Works"),
        lines("service_record", "Service record", "When it was opened and closed again.", ""),
    ),
    columns=("pathway", "place", "rating_h"),
)

BUSBAR = Kind(
    "busbar", "busbars", "Busbar", DIVIDER,
    "A bonding busbar (ANSI/TIA-607). Do not disconnect bonding conductors.",
    (
        identifier("Space and TMGB or TGB (PBB or SBB in later editions).", "1A-TMGB"),
        owner("space", "Space", "space", "", "1A"),
        choice("form", "Kind", "primary, secondary", required=True),
        text("size", "Size", "", "6 x 100 x 300 mm"),
        text("attached_to", "Attached to", "Where it meets the building's electrode system.",
             "service panel LP1"),
        number("resistance_ohm", "Resistance", "Measured to the electrode system.", "0.05"),
        date("tested_on", "Tested on"),
        text("tested_by", "Tested by", "", ""),
    ),
    columns=("form", "space", "resistance_ohm"),
)

BONDING_CONDUCTOR = Kind(
    "bonding_conductor", "bonding_conductors", "Bonding conductor", DIVIDER,
    "A conductor between busbars, or from a rack to one.",
    (
        identifier("", "1A-TBB1"),
        choice("form", "Kind",
               "rack bonding, bonding backbone, telecommunications bonding, backbone bonding",
               required=True),
        ref("from_busbar", "From", "busbar", "", "1A-TMGB"),
        ref("to_busbar", "To", "busbar", "", "2A-TGB"),
        cleared(ref("rack", "Rack", "rack", "", "1A-R1")),
        text("size", "Size", "Conductor size.", "6 AWG"),
        number("length_m", "Length", "", "3"),
        text("joint", "Joint", "", "irreversible compression"),
        flag("warning_label", "Warning label", "Carries the do-not-disconnect label."),
        number("resistance_ohm", "Resistance", "", "0.02"),
        date("tested_on", "Tested on"),
    ),
    columns=("form", "from_busbar", "to_busbar", "rack"),
)

KINDS = (
    PORT, LINK, CORD, INSTRUMENT, TEST, LOSS, PATHWAY, RUN, FIRESTOP, BUSBAR, BONDING_CONDUCTOR,
)
