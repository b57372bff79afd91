"""A tree of things that hang on one another, drawn in lines: what feeds what."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from binder.text import visible
from exporters.cells import cut

LINE_CELLS = 78


@dataclass(frozen=True, slots=True)
class Branch:
    label: str
    below: tuple[Branch, ...] = ()


@dataclass(frozen=True, slots=True)
class Tree:
    form: ClassVar[str] = "tree"
    roots: tuple[Branch, ...]

    def text(self) -> str:
        return "\n\n".join("\n".join(_lines(root, "", "")) for root in self.roots)

    def svg(self, key: str) -> str:
        """None: the lines are the drawing everywhere."""
        return ""


def _lines(branch: Branch, lead: str, below: str) -> Iterator[str]:
    yield cut(f"{lead}{visible(branch.label)}", LINE_CELLS)
    for number, inner in enumerate(branch.below, start=1):
        last = number == len(branch.below)
        yield from _lines(
            inner, f"{below}{'└─ ' if last else '├─ '}", f"{below}{'   ' if last else '│  '}"
        )
