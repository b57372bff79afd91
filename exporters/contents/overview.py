"""The site on one page: what there is, and the network from circuit to edge."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from binder.path_sql import network_rank
from binder.topology import Node
from exporters.contents.parts import counted, in_runs, joined, shortened
from exporters.contents.places import title_of
from exporters.drawings.network import Box, Network, rows
from exporters.model import NOTHING, Block, Drawing, Facts, Paragraph, Part, Section
from exporters.source import Source

_MOST_ROWS = 24  # boxes one above the other, so that a page holds them
_MOST_STEPS = 7  # boxes side by side

_COUNTED = (
    ("circuit", "carrier circuit"), ("building", "building"), ("rack", "rack"),
    ("link", "permanent link"), ("cord", "cord"), ("subnet", "subnet"),
    ("ssid", "wireless network"),
)  # fmt: skip


def overview(source: Source) -> Section:
    """In figures; the network drawn; what no circuit reaches."""
    return Section(
        "overview",
        "Site overview",
        (
            Part("In figures", (_figures(source),)),
            Part("The network, from circuit to edge", tuple(_drawn(source))),
        ),
    )


def _figures(source: Source) -> Facts:
    told = [counted(len(source.of(kind)), one) for kind, one in _COUNTED if source.of(kind)]
    forms: dict[str, int] = {}
    for hardware in source.of("hardware"):
        forms[source.shown(hardware, "form")] = forms.get(source.shown(hardware, "form"), 0) + 1
    spaces = [s for s in source.of("space") if s["form"] not in ("room", "outdoors")]
    kept = "; ".join(title_of(source, space) for space in spaces)
    return Facts((
        ("There are", ", ".join(told) or "no records"),
        ("Hardware", ", ".join(f"{form}: {number}" for form, number in sorted(forms.items()))
         or "none recorded"),
        ("Telecommunications spaces", kept or "none recorded"),
    ))  # fmt: skip


def _drawn(source: Source) -> Iterator[Block]:
    found = source.topology
    boxes = tuple(_cleared(source, box) for box in fitting(found.trees))
    if not boxes:
        yield NOTHING
    else:
        names = ", ".join(box.name for box in boxes)
        yield Drawing("network", Network(f"The network behind {names}", boxes))
        yield Paragraph(
            "Things of a sort that hang on the same device share a box. Each thing by itself, and "
            "the ports it is reached through, is in the patch map."
        )
    apart = tuple((form, source.cleared(told)) for form, told in _apart(found.apart))
    if apart:
        yield Paragraph("Not connected to any circuit, as far as is recorded:")
        yield Facts(apart)


def _apart(nodes: Iterable[Node]) -> Iterator[tuple[str, str]]:
    """What no circuit reaches: those of a sort and for the same reason in one line."""
    found: dict[tuple[str, str], list[str]] = {}
    for node in nodes:
        for inner in (node, *_all_below(node)):
            if inner.kind != "port":
                found.setdefault((inner.form, node.why), []).append(inner.name)
    for (form, why), names in found.items():
        yield form, joined(shortened(in_runs(names)), why, by=": ")


def fitting(trees: Sequence[Node]) -> tuple[Box, ...]:
    """The trees as boxes of as many steps as one page has room for."""
    for steps in range(_MOST_STEPS, 1, -1):
        boxes = tuple(_box(tree, steps - 1) for tree in trees)
        if rows(boxes) <= _MOST_ROWS:
            return boxes
    return tuple(_box(tree, 1) for tree in trees)


def _box(node: Node, steps: int) -> Box:
    """A node, what leads on from it, and the ends that hang on it by sort.

    Without steps left all that is below is told by sort.
    """
    branches = [inner for inner in node.below if _leads_on(inner)] if steps > 1 else []
    ends = [inner for inner in node.below if inner not in branches]
    if steps <= 1:
        ends = list(_all_below(node))
    below = (*(_box(inner, steps - 1) for inner in branches), *_by_sort(ends))
    what = joined(node.form, node.space)
    return Box(node.name, what, joined(_way(node), _also(node), node.why, by="; "), False, below)


def _leads_on(node: Node) -> bool:
    """Whether it is part of the trunk: a telephone with a computer behind it is an end."""
    return bool(node.below) and (network_rank(node.form) > 0 or len(node.below) > 1)


def _all_below(node: Node) -> Iterator[Node]:
    waiting = list(node.below)
    while waiting:
        found = waiting.pop(0)
        yield found
        waiting += found.below


def _by_sort(nodes: Iterable[Node]) -> Iterator[Box]:
    """A box for each sort of thing; one that is alone keeps its own words."""
    found: dict[tuple[str, str], list[Node]] = {}
    for node in nodes:
        form = "port" if node.kind == "port" else node.form
        behind = ", ".join(dict.fromkeys(inner.form for inner in _all_below(node)))
        found.setdefault((form, behind), []).append(node)
    for (form, behind), alike in found.items():
        if form == "port":
            yield Box(counted(len(alike), "jack"), "nothing in it recorded", "", True)
            continue
        names = shortened(in_runs([node.name for node in alike]), 24)
        number = f"{len(alike)} in all" if len(alike) > 1 else alike[0].space
        what = joined(form, number, f"{behind} behind" if behind else "")
        yield Box(names, what, _also(alike[0]) if len(alike) == 1 else "", len(alike) > 1)


def _also(node: Node) -> str:
    """What it is joined to besides, where the trees show it elsewhere."""
    others = (("also via", node.also_via), ("also to", node.also_to))
    return "; ".join(f"{word} {in_runs(names)}" for word, names in others if names)


def _way(node: Node) -> str:
    """The ports at both ends of the way; the patch map has those between."""
    ends = (node.through[0], node.through[-1]) if node.through else ()
    return " > ".join(dict.fromkeys(ends))


def _cleared(source: Source, box: Box) -> Box:
    """A box without what this document may not tell."""
    return Box(
        source.cleared(box.name), source.cleared(box.words), source.cleared(box.way), box.is_many,
        tuple(_cleared(source, inner) for inner in box.below),
    )  # fmt: skip
