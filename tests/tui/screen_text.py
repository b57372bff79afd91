"""The app at a terminal of a given size, driven by keys and read as text.

The one file that looks into Textual for what stands on the screen.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic

from textual import events
from textual.keys import _character_to_key
from textual.pilot import Pilot

from tui.app.binder_app import BinderApp

NOW = datetime(2026, 3, 14, 9, 40, tzinfo=UTC)
PATIENCE_S = 10.0


class Terminal:
    """A person at the app: presses keys, and sees text or waits for it."""

    def __init__(self, app: BinderApp, pilot: Pilot[int]) -> None:
        self.app = app
        self.pilot = pilot

    @property
    def lines(self) -> list[str]:
        """What stands on the screen, line by line."""
        return [strip.text.rstrip() for strip in self.app.screen._compositor.render_strips()]

    @property
    def text(self) -> str:
        return "\n".join(self.lines)

    async def press(self, *keys: str) -> None:
        """Press keys by Textual's names, one after the other."""
        await self.pilot.press(*keys)

    async def type(self, text: str) -> None:
        """Type a text at once, as fast as a terminal delivers it."""
        await self.burst(*text)

    async def burst(self, *keys: str) -> None:
        """Press keys without waiting, as they come in one bunch over a slow line."""
        driver = self.app._driver
        assert driver is not None
        for key in keys:
            is_character = len(key) == 1
            name = key if not is_character or key.isalnum() else _character_to_key(key)
            event = events.Key(name, key if is_character else None)
            event.set_sender(self.app)
            driver.send_message(event)
        await self.pilot.pause()

    async def until(self, holds: Callable[[], bool], what: str) -> None:
        """Wait for a condition; fails with the screen when it does not come."""
        end = monotonic() + PATIENCE_S
        while not holds():
            assert monotonic() < end, f"not seen: {what}\n{self.text}"
            await self.pilot.pause()

    async def sees(self, *texts: str) -> None:
        for text in texts:
            await self.until(lambda text=text: text in self.text, text)  # type: ignore[misc]

    async def sees_no(self, text: str) -> None:
        await self.until(lambda: text not in self.text, f"the end of {text}")

    def line_with(self, text: str) -> str:
        """The first line that holds a text."""
        found = [line for line in self.lines if text in line]
        assert found, f"no line with {text}\n{self.text}"
        return found[0]


@asynccontextmanager
async def terminal(
    path: Path,
    *,
    who: str = "R. Adeyemi",
    size: tuple[int, int] = (80, 24),
    read_only: bool = False,
) -> AsyncIterator[Terminal]:
    """The app on a binder or a shelf. It is the 14th of March 2026."""
    app = BinderApp(path, who=who, read_only=read_only, clock=lambda: NOW)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        yield Terminal(app, pilot)
