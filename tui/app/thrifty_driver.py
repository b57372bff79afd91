"""The driver of a terminal at the end of a slow line: sends what differs, not what was drawn."""

from __future__ import annotations

import re
import shutil
from typing import Any

from textual.drivers.linux_driver import LinuxDriver
from textual.geometry import Size

from tui.app.shadow import Shadow

_SYNC_START, _SYNC_END = "\x1b[?2026h", "\x1b[?2026l"  # "synchronized output", a convention
_ONE_PACKET = 1000  # what is shorter arrives at once, and is not torn apart
_SECOND_SCREEN = "\x1b[?1049"
_IS_FRAME = re.compile(r"\x1b\[\d+;\d+H")


class ThriftyDriver(LinuxDriver):
    """Frames go through a shadow of the screen; all else that Textual writes goes as it is."""

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self.shadow = Shadow(*shutil.get_terminal_size())
        self._is_in_step = False  # whether the terminal shows a long update all at once

    def write(self, data: str) -> None:
        if data in (_SYNC_START, _SYNC_END):
            self._is_in_step = True
        elif _IS_FRAME.match(data):
            self.shadow.take(data)
            self._send_difference()
        else:
            if _SECOND_SCREEN in data:  # come from, or gone to, another program
                self.shadow.forget()
            super().write(data)

    def redraw(self, size: Size) -> None:
        """Send the whole screen again, over whatever another program has written on it.

        At another size it is what the app draws next.
        """
        if size == (self.shadow.columns, self.shadow.lines):
            self.shadow.forget()
            self._send_difference()
        else:
            self.shadow.resize(*size)

    def _send_difference(self) -> None:
        sent = self.shadow.difference()
        if self._is_in_step and len(sent) > _ONE_PACKET:
            sent = f"{_SYNC_START}{sent}{_SYNC_END}"
        if sent:
            super().write(sent)
