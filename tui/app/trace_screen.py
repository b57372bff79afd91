"""The physical path from a record, both ways, on to the carrier."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

from textual.binding import BindingType

from binder.read import read
from binder.trace import Trace, path_lines, trace
from tui.app.actions import PATH, bindings
from tui.app.drawn_screen import DrawnScreen
from tui.app.line_list import LineList, Rows
from tui.app.lines import Part, line, wrapped
from tui.app.screen import BROAD


class TraceScreen(DrawnScreen):
    """The path line by line. Enter opens what a line names."""

    PLACE = PATH
    BINDINGS: ClassVar[list[BindingType]] = bindings(PATH)

    WIDE_FROM = BROAD

    def __init__(self, answer: Trace) -> None:
        super().__init__()
        self.answer = answer
        self.targets: dict[int, int] = {}

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        names = ", ".join(circuit.name for circuit in self.answer.circuits)
        reaches = f"reaches {names}" if names else "reaches no circuit"
        look = "strong" if names else "warn"
        return (Part(" Trace from "), Part(self.answer.name, "strong")), (Part(reaches, look),)

    def reload(self) -> None:
        try:
            self.answer = trace(self.binder_app.binder, self.answer.id)
        finally:
            self.draw_rows()

    def draw_rows(self) -> None:
        """Draw the path for the width there is."""
        width = self.drawn_width = self.list_width
        texts = list(path_lines(self.answer, self.binder_app.system))
        self.targets = dict(_targets(self.answer, texts))
        rows = [
            ((at, piece), line(f" {text}"))
            for at, whole in enumerate(texts)
            for piece, text in enumerate(wrapped(whole, width - 1))
        ]
        asked = [at for at, target in self.targets.items() if target == self.answer.id]
        is_first = self.main_list.key is None
        self.main_list.show(Rows(rows), key=(asked[0], 0) if asked and is_first else None)

    def looked_at(self) -> int | None:
        key = self.main_list.key
        return self.targets.get(key[0]) if isinstance(key, tuple) else None

    def subject(self) -> int | None:
        return self.looked_at()

    def on_line_list_chosen(self, event: LineList.Chosen) -> None:
        target = self.looked_at()
        if target is None:
            self.say("this line names no record of its own")
            return
        with self.binder_app.telling():
            self.binder_app.open_record(read(self.binder_app.binder, target).id)


def _targets(answer: Trace, texts: Sequence[str]) -> Iterator[tuple[int, int]]:
    """The record that each line is about: the next one on the path whose name it holds."""
    parts = [(part.name, part.id) for run in (*answer.channels, *answer.uplinks)
             for part in run.parts]  # fmt: skip
    parts += [(circuit.name, circuit.id) for circuit in answer.circuits]
    start = 0
    for at, text in enumerate(texts):
        for ahead, (name, record_id) in enumerate(parts[start:], start):
            if name and name in text:
                yield at, record_id
                start = ahead + 1
                break
