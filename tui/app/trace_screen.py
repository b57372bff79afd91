"""The physical path from a record, both ways, on to the carrier."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from typing import ClassVar

from textual.binding import BindingType

from binder.read import read
from binder.trace import Trace, path_lines, trace
from tui.app.actions import PATH, bindings
from tui.app.line_list import LineList, Rows
from tui.app.lines import Part, line, wrapped
from tui.app.record_screen import RecordScreen


class TraceScreen(RecordScreen):
    """The path line by line. Enter opens what a line names."""

    PLACE = PATH
    BINDINGS: ClassVar[list[BindingType]] = bindings(PATH)

    def __init__(self, record_id: int) -> None:
        super().__init__()
        self.record_id = record_id
        self.answer: Trace | None = None
        self.targets: dict[Hashable, int] = {}

    def title_parts(self) -> tuple[Sequence[Part], Sequence[Part]]:
        if self.answer is None:
            return (Part(" Trace", "strong"),), ()
        count = len(self.answer.circuits)
        reaches = f"reaches {count} circuit{'' if count == 1 else 's'}"
        look = "strong" if count else "warn"
        return (Part(" Trace from "), Part(self.answer.name, "strong")), (Part(reaches, look),)

    def reload(self) -> None:
        self.answer = None
        self.answer = trace(self.binder_app.binder, self.record_id)
        self.draw_rows()

    def laid_out(self) -> None:
        self.draw_rows()
        super().laid_out()

    def draw_rows(self) -> None:
        """Draw the path for the width there is."""
        width = self.main_list.size.width
        if self.answer is None or not width:
            return
        texts = list(path_lines(self.answer, self.binder_app.system))
        self.targets = dict(_targets(self.answer, texts))
        rows = [
            ((at, piece), line(f" {text}"))
            for at, whole in enumerate(texts)
            for piece, text in enumerate(wrapped(whole, width - 1))
        ]
        self.main_list.show(Rows(rows))

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
