"""Colours of the page against WCAG 2.2.

Sources: WCAG 2.2 (W3C Recommendation, 5 October 2023), definitions of relative luminance and of
contrast ratio; success criteria 1.4.3 (text, 4.5 to 1) and 1.4.11 (parts of controls and graphics,
3 to 1). Thresholds are not rounded.
"""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

STYLE = files("exporters").joinpath("assets", "page.css").read_text(encoding="utf-8")


def luminance(colour: str) -> float:
    channels = []
    for at in (1, 3, 5):
        c = int(colour[at : at + 2], 16) / 255
        channels.append(c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4)
    red, green, blue = channels
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize(
    ("colour", "on_white"),
    [
        ("#000000", 21.0),
        ("#767676", 4.5422),  # the lightest grey that passes for text
        ("#777777", 4.4781),  # and the first that fails
        ("#949494", 3.0335),  # 'Understanding 1.4.11' uses this one
        ("#ff0000", 3.9985),
    ],
)
def test_the_formula_gives_the_values_known_for_it(colour: str, on_white: float) -> None:
    """Arithmetic on the published formula; #767676 and #949494 appear in W3C's own documents."""
    assert contrast(colour, "#ffffff") == pytest.approx(on_white, abs=5e-5)


def palettes() -> dict[str, dict[str, str]]:
    """The colours by name: light, dark (over light) and print (over light)."""
    blocks = re.findall(r":root \{([^}]*)\}", STYLE)
    light, dark, printed = (dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", b)) for b in blocks)
    return {"light": light, "dark": light | dark, "print": light | printed}


TEXT = [
    ("ink", "paper"), ("ink", "desk"), ("ink", "head"), ("ink", "stripe"),
    ("soft", "paper"), ("soft", "desk"), ("accent", "paper"), ("accent", "stripe"),
    ("warn", "paper"),
]  # fmt: skip
PARTS = [("edge", "paper"), ("edge", "head"), ("accent", "desk"), ("accent", "paper")]


@pytest.mark.parametrize("name", ["light", "dark", "print"])
def test_text_and_the_edges_of_controls_stand_out(name: str) -> None:
    palette = palettes()[name]
    ratios = {pair: contrast(palette[pair[0]], palette[pair[1]]) for pair in TEXT + PARTS}
    assert {pair: r for pair, r in ratios.items() if pair in TEXT and r < 4.5} == {}
    assert {pair: r for pair, r in ratios.items() if pair in PARTS and r < 3} == {}


def test_no_colour_stands_outside_the_palettes() -> None:
    rules = re.sub(r":root \{[^}]*\}", "", STYLE)
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b(?=[;\s,)])|\brgba?\(|\bhsl", rules) == []


def test_every_colour_is_used() -> None:
    rules = re.sub(r":root \{[^}]*\}", "", STYLE)
    for name in palettes()["light"]:
        assert f"var(--{name})" in rules, f"--{name} is never used"
