"""Text that people typed, made harmless where it leaves for a terminal or a plain file.

A stored name may hold escape sequences, controls, or marks that reorder or hide text
(CWE-150). They are kept as typed in the binder and shown as visible signs. Control sets:
ECMA-48 5th edition (C0, DEL, C1); reordering and invisible marks: Unicode bidi controls and
characters of no width. Half a surrogate pair, which no terminal takes, is shown too.
"""

from __future__ import annotations

import re

# Unicode's default ignorable characters, but for variation selectors (letters look wrong without
# them); separators of lines and paragraphs; halves of surrogate pairs; the 66 noncharacters
# (Unicode 23.7), which no HTML page may hold.
_REORDERING = (
    "\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\u3164"
    "\ufeff\uffa0\ufff0-\ufffb\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e007f\ud800-\udfff"
    "\ufdd0-\ufdef" + "".join(f"{chr(p << 16 | 0xFFFE)}{chr(p << 16 | 0xFFFF)}" for p in range(17))
)
_UNSAFE = re.compile(f"[\x00-\x1f\x7f-\x9f{_REORDERING}]")
UNSAFE_IN_LINES = re.compile(f"[\x00-\x08\x0b-\x1f\x7f-\x9f{_REORDERING}]")


def _sign(match: re.Match[str]) -> str:
    code = ord(match[0])
    if code < 0x20:
        return chr(0x2400 + code)
    if code == 0x7F:
        return "\u2421"
    if code < 0xA0:
        return f"\\x{code:02x}"
    return f"<U+{code:04X}>"


def visible(text: str) -> str:
    """The text on one line, every control and reordering mark shown as a sign."""
    return _UNSAFE.sub(_sign, text)


def visible_lines(text: str) -> str:
    """The same for text of several lines: line feeds and tabs stay."""
    return UNSAFE_IN_LINES.sub(_sign, text.replace("\r\n", "\n"))
