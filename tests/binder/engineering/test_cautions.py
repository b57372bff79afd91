"""Cautions name the documents generally cited, and defer to them."""

from __future__ import annotations

import pytest

from binder.engineering import cautions


@pytest.mark.parametrize(
    ("caution", "cited"),
    [
        (cautions.MAINS, ["NFPA 70E", "29 CFR 1910.147", "1910.331 to 1910.335", "licensed"]),
        (cautions.BATTERIES, ["IEEE 1188", "40 CFR 266", "40 CFR 273", "only a test under load"]),
        (cautions.LASERS, ["IEC 60825-2", "ANSI Z136.2", "Never look into"]),
        (cautions.LIFTING, ["DHHS (NIOSH) 94-110", "23 kg (51 lb)", "from the bottom"]),
        (cautions.ANCHORS, ["not an engineer's approval", "safety factor of 4", "Local codes"]),
        (cautions.POE_BUNDLES, ["NEC 725.144", "TIA TSB-184-A"]),
        (cautions.FIRESTOPS, ["NEC 300.21", "ASTM E814", "UL 1479"]),
    ],
)
def test_a_caution_names_its_documents(caution: str, cited: list[str]) -> None:
    assert [document for document in cited if document not in caution] == []
