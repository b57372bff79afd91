"""The usual cautions, each with the documents generally cited. They defer to local codes.

None of these reproduces a code. Where a figure of this program concerns something that can hurt
someone, its caution is shown beside it.
"""

from __future__ import annotations

from typing import Final

ANCHORS: Final = (
    "A planning check, not an engineer's approval. It takes a rigid back and sound substrate, and "
    "knows nothing of prying, edge distance, spacing, cracks or earthquakes. Ultimate values are "
    "divided by a safety factor of 4 unless another is entered. Local codes, the anchor maker's "
    "instructions and a licensed person decide; have anything doubtful checked before loading."
)

MAINS: Final = (
    "Mains wiring is for licensed or qualified persons, under the local electrical code (NFPA 70, "
    "NFPA 70E, 29 CFR 1910.331 to 1910.335). Isolate, lock out, tag and prove dead first (29 CFR "
    "1910.147). The outlets of a UPS stay live when its input is off."
)

BATTERIES: Final = (
    "A battery cannot be switched off: short circuit, acid, and hydrogen while charging. "
    "Ventilate, use insulated tools and eye protection, do not mix old and new blocks (IEEE 1187, "
    "IEEE 1188, NFPA 70 article 480). Recycle old ones (40 CFR 266 subpart G, 40 CFR 273; local "
    "rules differ). A computed runtime is an estimate: only a test under load proves one."
)

LASERS: Final = (
    "Treat every fibre as live: the light is invisible. Never look into a port, a connector or a "
    "fibre end, least of all through a magnifier; cap what is unused (IEC 60825-1, IEC 60825-2, "
    "ANSI Z136.2). Fibre ends are glass: protect the eyes and collect the scrap."
)

LIFTING: Final = (
    "Weigh it first. Two persons or a lift above about 23 kg (51 lb), the most under ideal "
    "conditions (NIOSH lifting equation, DHHS (NIOSH) 94-110). Load a rack from the bottom; anchor "
    "it before anything on slides is pulled out."
)

POE_BUNDLES: Final = (
    "High-power PoE heats large bundles of cable. Follow the bundle table of the code in force "
    "(NEC 725.144 in 2017 and 2020, moved in 2023; TIA TSB-184-A) or use cable listed for limited "
    "power."
)

FIRESTOPS: Final = (
    "Every rated wall or floor opened for cable gets its rating back with a tested system (NEC "
    "300.21, ASTM E814, UL 1479; the building code in force)."
)
