"""Errands: what takes several questions, told as one coroutine from beginning to end."""

from __future__ import annotations

import contextlib
from collections.abc import Coroutine
from typing import TypeVar

from textual.screen import Screen

from tui.app.typeahead import KeysInLine

Answer = TypeVar("Answer")


class Errands(KeysInLine):
    """An app that runs errands. Keys typed ahead wait for the question they are meant for."""

    def telling(self) -> contextlib.AbstractContextManager[None]:
        """What cannot be done is said, in one line, and nothing else happens."""
        raise NotImplementedError

    def errand(self, going: Coroutine[None, None, None]) -> None:
        """Start one. Keys are held until it asks something, or ends."""
        self.hold_keys()
        self.run_worker(self._run(going), group="errand", description="an errand")

    async def _run(self, going: Coroutine[None, None, None]) -> None:
        try:
            with self.telling():
                await going
        finally:
            self.let_keys_come()

    async def ask(self, question: Screen[Answer]) -> Answer | None:
        """The answer to a question on a screen of its own; None when it was left. In an errand."""
        answer = self.push_screen(question, wait_for_dismiss=True)
        self.let_keys_come()
        try:
            return await answer
        finally:
            self.hold_keys()
