"""The rack: units, panel heights, and which U a piece of hardware takes.

Source: EIA/ECA-310-E, which IEC 60297-3-100 follows. Units are counted from 1 at the bottom.
"""

from __future__ import annotations

from typing import Final

RACK_UNIT_MM: Final = 44.45
PANEL_GAP_MM: Final = 0.79  # 1/32 in, so that panels of neighbouring units clear (IEC: 0.8)
PANEL_WIDTH_MM: Final = 482.6
HOLE_COLUMNS_MM: Final = 465.1  # centre to centre
CLEAR_OPENING_MM: Final = 450.85
HOLE_SPACING_MM: Final = (15.875, 15.875, 12.7)  # within one unit


def panel_height_mm(size_u: int) -> float:
    """The height of a front panel of that many units, in mm: 44.45 n - 0.79 (EIA/ECA-310-E).

    Raises ValueError below 1 U.
    """
    _require_units("panel", size_u)
    return RACK_UNIT_MM * size_u - PANEL_GAP_MM


def top_start_u(height_u: int, size_u: int) -> int:
    """The highest U at which hardware of `size_u` can start in a rack of `height_u`.

    Raises ValueError below 1 U, or when it is taller than the rack.
    """
    _require_units("rack", height_u)
    _require_units("hardware", size_u)
    if size_u > height_u:
        raise ValueError(f"hardware of {size_u} U is taller than the rack of {height_u} U")
    return height_u - size_u + 1


def occupied_units(u_position: int, size_u: int) -> tuple[int, ...]:
    """The units that hardware takes whose lowest is `u_position`: 2 U at U10 takes 10 and 11.

    Raises ValueError below U1 or 1 U.
    """
    _require_units("hardware", size_u)
    if u_position < 1:
        raise ValueError(f"position U{u_position}: units are counted from U1")
    return tuple(range(u_position, u_position + size_u))


def _require_units(what: str, units: int) -> None:
    if units < 1:
        raise ValueError(f"{what} of {units} U: must be 1 U or more")
