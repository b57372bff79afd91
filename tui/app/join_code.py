"""The QR code of a wireless network, drawn in half blocks: two rows of it on a line."""

from __future__ import annotations

from typing import Final

from binder.envelope.secret_value import SecretValue
from tui.app.lines import Line, line

_BORDERS: Final = (4, 3, 2)  # modules of quiet zone: 4 by ISO/IEC 18004; phones do with less
# Light modules are drawn, dark ones left out: by upper and lower half.
_HALVES: Final = {(0, 0): "█", (0, 1): "▀", (1, 0): "▄", (1, 1): " "}


def code_lines(text: SecretValue, width: int, height: int) -> list[Line]:
    """The code in white on black, or why it is not shown: when there is no room for it."""
    from binder.envelope.wifi import qr_code

    code = qr_code(text)
    for border in _BORDERS:
        modules = [list(row) for row in code.matrix_iter(border=border)]
        lines = (len(modules) + 1) // 2
        if lines <= height and len(modules) <= width:
            return [line((row, "code")) for row in _drawn(modules)]
    return [(), line(f"   the code needs {lines + 2} lines; this terminal has {height + 2}")]


def _drawn(modules: list[list[int]]) -> list[str]:
    if len(modules) % 2:
        modules = [*modules, [0] * len(modules[0])]
    pairs = zip(modules[::2], modules[1::2], strict=True)
    return [
        "".join(_HALVES[bool(above), bool(below)] for above, below in zip(*pair, strict=True))
        for pair in pairs
    ]
