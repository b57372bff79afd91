"""Where things are: buildings, spaces, racks."""

from __future__ import annotations

from binder.records.fields import (
    Kind,
    Rule,
    choice,
    count,
    flag,
    identifier,
    lines,
    number,
    owner,
    ref,
    text,
)

DIVIDER = "Racks"

BUILDING = Kind(
    "building", "buildings", "Building", DIVIDER,
    "A building of the client's.",
    (
        identifier("A letter or name, as in campus cable identifiers.", "B1"),
        text("name", "Name", "What people call it.", "Main clinic"),
        lines("address", "Address", "The street address.", "12 Alder Row, Quillmere"),
        text("access_contact", "Access", "Whom to ask to be let in.", "front desk"),
        text("access_hours", "Access hours", "", "weekdays 07:30-19:00"),
    ),
    columns=("name", "access_hours"),
)

SPACE = Kind(
    "space", "spaces", "Space", DIVIDER,
    "A telecommunications space, or a room where outlets and devices are.",
    (
        identifier("Floor and letter for telecommunications spaces, else the room number.", "1A"),
        owner("building", "Building", "building", "The building it is in.", "B1"),
        choice("form", "Kind",
               "equipment room, telecommunications room, entrance facility, "
               "telecommunications enclosure, room, outdoors",
               "As ANSI/TIA-569 names spaces.", required=True, default="room"),
        text("name", "Name", "What people call it.", "Reception"),
        text("floor", "Floor", "", "1"),
        text("room_number", "Room number", "As the building's own signs have it.", "114"),
        text("access_hours", "Access hours", "", "any time, with key K-01"),
        text("escort", "Escort", "Who must come along.", "practice manager after hours"),
        text("alarm", "Alarm", "How the alarm is set and unset; the code is a secret.",
             "panel by the back door"),
        lines("hazards", "Hazards", "What can hurt someone here.",
              "low beam over the door; oxygen store next door"),
        lines("shut_offs", "Shut-offs", "Where power, water and gas are cut.",
              "panel LP1, breaker 12"),
        number("cooling_w", "Cooling", "Heat the room's cooling carries away.", "1500"),
        number("ambient_max_c", "Warmest", "The warmest it may get.", "30", minimum=-40),
        number("ambient_min_c", "Coldest", "The coldest it may get.", "10", minimum=-40),
        number("floor_area_m2", "Floor area", "For the rise of a closed room.", "6 m2"),
        flag("closed", "Closed", "No cooling and no vent: heat stays."),
    ),
    columns=("name", "form", "building"),
)

RACK = Kind(
    "rack", "racks", "Rack", DIVIDER,
    "A rack or cabinet; one U is 44.45 mm (EIA/ECA-310, IEC 60297).",
    (
        identifier("The space and R with a number.", "1A-R1"),
        owner("space", "Space", "space", "The space it stands in.", "1A"),
        count("height_u", "Height", "Rack units.", "18", required=True, minimum=1, maximum=60,
              unit="U"),
        choice("numbering", "Numbered from", "bottom, top", "Where U 1 is.", required=True,
               default="bottom"),
        choice("mount", "Mount", "floor, fixed wall, swing-out wall", required=True,
               default="floor"),
        number("usable_depth_mm", "Usable depth",
               "Front rail to rear rail or door; bend room is taken off it.", "610"),
        number("load_rating_kg", "Load rating", "What the maker lets it carry.", "90"),
        number("empty_weight_kg", "Empty weight", "", "22"),
        number("bend_room_mm", "Bend room", "Kept free behind hardware for plugs and bends.",
               "75"),
        count("anchors", "Anchors", "How many hold it to the wall.", "4"),
        count("anchor_rows", "Anchor rows", "Rows of anchors, top to bottom.", "2", minimum=1),
        number("anchor_spacing_mm", "Anchor rows apart", "Top row to bottom row.", "500"),
        number("anchor_tension_n", "Anchor tension", "Ultimate, each, from the anchor's sheet.",
               "5300", unit="n"),
        number("anchor_shear_n", "Anchor shear", "Ultimate, each, from the anchor's sheet.",
               "7100", unit="n"),
        choice("substrate", "Substrate",
               "concrete, grouted masonry, hollow masonry, wood stud, plywood, steel stud, unknown",
               "What the anchors are in. Have a licensed person check anything doubtful."),
        number("safety_factor", "Safety factor", "On ultimate values; 4 unless told otherwise.",
               "4", unit="", minimum=1),
        number("swing_slack_mm", "Swing slack", "Cable slack needed to swing it open.", "900"),
        number("swing_offset_mm", "Swing offset",
               "How far the load stands off the wall when swung open.", "450"),
        text("lock", "Lock", "Which key.", "K-02"),
        ref("busbar", "Bonded to", "busbar", "The busbar its bonding conductor goes to.",
            "1A-TGB"),
    ),
    columns=("space", "height_u", "mount"),
    rules=(Rule("anchors IS NULL OR anchor_rows IS NULL OR anchor_rows <= anchors",
                "a rack cannot have more anchor rows than anchors"),),
)

KINDS = (BUILDING, SPACE, RACK)
