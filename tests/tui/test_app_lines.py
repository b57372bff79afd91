"""A line of the app: measured in cells, harmless to a terminal."""

from __future__ import annotations

from collections.abc import Hashable

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from binder.text import visible
from tui.app.line_list import LineList, Rows
from tui.app.lines import Line, Part, cut, drawn, fit, line, shares, spread, wrapped

TEXTS = st.text(max_size=40)
WIDTHS = st.integers(1, 60)


@given(TEXTS, WIDTHS)
def test_fitted_text_takes_exactly_its_cells(text: str, width: int) -> None:
    assert cell_len(fit(text, width)) == width


@given(TEXTS, WIDTHS)
def test_text_is_cut_only_when_it_must_be_and_then_says_so(text: str, width: int) -> None:
    short = cut(text, width)
    assert cell_len(short) <= width
    assert short == visible(text) or short.endswith("…")


def test_full_width_letters_are_measured_as_two_cells() -> None:
    assert fit("受付", 3) == "受…"
    assert fit("受付", 5) == "受付 "


@given(TEXTS, st.integers(2, 60))
def test_wrapped_text_fits_and_loses_no_letter(text: str, width: int) -> None:
    rows = wrapped(text, width)
    assert all(cell_len(row) <= width for row in rows)
    kept = "".join(rows).replace(" ", "")
    assert kept == "".join(visible(row) for row in text.split("\n")).replace(" ", "")


@given(st.lists(TEXTS, max_size=5), st.integers(1, 80), st.booleans())
def test_a_drawn_line_is_as_wide_as_told_and_sends_no_control(
    texts: list[str], width: int, selected: bool
) -> None:
    strip = drawn([Part(text) for text in texts], width, selected=selected)
    assert strip.cell_length == width == sum(cell_len(s.text) for s in strip)
    assert visible(strip.text) == strip.text


@given(TEXTS, TEXTS, st.integers(2, 120))
def test_both_ends_of_a_line_stand_at_its_ends(left: str, right: str, width: int) -> None:
    right = cut(right, 40)
    parts = spread([Part(left)], [Part(right)], width)
    whole = "".join(part.text for part in parts)
    assert cell_len(whole) == width
    assert whole.endswith(right) or cell_len(right) > width // 2


@given(st.lists(st.integers(1, 40), min_size=1, max_size=6), st.integers(1, 100))
def test_columns_share_the_room_and_none_goes_below_its_least(wanted: list[int], room: int) -> None:
    least = [min(want, 5) for want in wanted]
    widths = shares(wanted, least, room)
    assert all(low <= width <= want for low, width, want in zip(least, widths, wanted, strict=True))
    assert sum(widths) <= room or widths == least


class Counting(Rows):
    """Rows that remember which of them were drawn."""

    def __init__(self, count: int) -> None:
        super().__init__([(at, line(f"row {at}")) for at in range(count)])
        self.drawn: list[int] = []

    def line(self, index: int, width: int) -> Line:
        self.drawn.append(index)
        return super().line(index, width)

    def index(self, key: Hashable) -> int | None:
        return key if isinstance(key, int) else None


async def test_a_step_of_the_cursor_draws_two_lines_of_ten_thousand() -> None:
    from textual.app import App

    class Listing(App[None]):
        def compose(self):  # type: ignore[no-untyped-def]  # noqa: ANN202
            yield LineList(id="list")

    rows = Counting(10_000)
    app = Listing()
    async with app.run_test() as pilot:
        shown = app.query_one(LineList)
        shown.show(rows)
        await pilot.pause()
        rows.drawn.clear()
        await pilot.press("down")
        await pilot.pause()
        assert sorted(set(rows.drawn)) == [0, 1]
        await pilot.press("end")
        await pilot.pause()
        assert shown.cursor == 9_999
        assert len(set(rows.drawn)) <= 2 + shown.size.height


async def test_the_cursor_stays_on_its_record_when_rows_come_and_go() -> None:
    from textual.app import App

    class Listing(App[None]):
        def compose(self):  # type: ignore[no-untyped-def]  # noqa: ANN202
            yield LineList(id="list")

    app = Listing()
    async with app.run_test() as pilot:
        shown = app.query_one(LineList)
        shown.show(Rows([(name, line(name)) for name in "bdf"]))
        await pilot.press("down")
        shown.show(Rows([(name, line(name)) for name in "abcdef"]))
        assert shown.key == "d"
        shown.show(Rows([(name, line(name)) for name in "abc"]))
        assert shown.key == "c"
