"""Keys in line: each waits until what the ones before it have set off is done.

Textual gives a letter to the input that has the focus at once, but looks up `enter` or `n` only
after it has travelled to the app, and a screen that was asked for takes some milliseconds to
stand. Over a slow line keys come in bunches: letters would overtake the Enter before them, and
text meant for a form would be taken for commands by the list under it.
"""

from __future__ import annotations

import asyncio
import contextlib
from time import monotonic
from typing import Any, Final

from textual import events
from textual.app import App, ScreenStackError

_CALM_ROUNDS: Final = 5  # of the event loop, in which nobody has a message waiting
_PATIENCE_S: Final = 0.5  # then a key is let through whatever is still going on


class KeysInLine(App[int]):
    """An app that takes typed keys and pastes one by one, in the order they were typed."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self._line: asyncio.Queue[events.Key | events.Paste] = asyncio.Queue()
        self._may_come = asyncio.Event()
        self._may_come.set()

    def on_mount(self) -> None:
        self.run_worker(self._take_keys(), name="keys", description="keys typed, in line")

    async def on_event(self, event: events.Event) -> None:
        if isinstance(event, events.Key | events.Paste) and not event.is_forwarded:
            self._line.put_nowait(event)
        else:
            await super().on_event(event)

    def hold_keys(self) -> None:
        """Keep what is typed in line: what is going on has not come to its next question."""
        self._may_come.clear()

    def let_keys_come(self) -> None:
        """Take keys again."""
        self._may_come.set()

    async def _take_keys(self) -> None:
        with contextlib.suppress(ScreenStackError):  # the app is left: no more keys are taken
            while True:
                event = await self._line.get()
                await self._may_come.wait()
                is_text = self._is_text(event)
                if not is_text:
                    await self._calm()
                await super().on_event(event)
                if not is_text:
                    await self._calm()

    def _is_text(self, event: events.Key | events.Paste) -> bool:
        """Text for an input can follow text for it at once: an input keeps their order."""
        from textual.widgets import Input, TextArea

        into_input = isinstance(self.focused, Input | TextArea)
        return into_input and (isinstance(event, events.Paste) or event.is_printable)

    async def _calm(self) -> None:
        """Wait until no message is on its way and the screen in front is laid out."""
        rounds, end = 0, monotonic() + _PATIENCE_S
        while rounds < _CALM_ROUNDS and monotonic() < end:
            await asyncio.sleep(0)
            rounds = rounds + 1 if self._is_calm() else 0

    def _is_calm(self) -> bool:
        screen = self.screen
        if not screen.size:  # asked for, and not standing yet
            return False
        return not any(p.message_queue_size for p in (self, screen, *screen.walk_children()))
