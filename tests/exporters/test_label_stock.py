"""Sheets of labels: where each label lies, for any stock that fits its page."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.errors import RequestError
from exporters.label_stock import COMMON, Place, Stock, stock_of


def millimetres(least: float, most: float) -> st.SearchStrategy[float]:
    return st.floats(least, most).map(lambda mm: round(mm, 1))


def _along(draw: st.DrawFn, page: float) -> tuple[int, float, float, float]:
    """Labels that fit along one side of a page: how many, how large, margin, gap."""
    margin, gap = draw(millimetres(0, 25)), draw(millimetres(0, 6))
    number = draw(st.integers(1, int((page - margin + gap) / (5 + gap))))
    room = (page - margin - (number - 1) * gap) / number
    return number, draw(millimetres(5, max(5, room - 0.06))), margin, gap


@st.composite
def stocks(draw: st.DrawFn) -> Stock:
    """Any stock whose labels lie on its page."""
    wide, high = draw(st.sampled_from([(210.0, 297.0), (215.9, 279.4), (100.0, 150.0)]))
    columns, width, left, across = _along(draw, wide)
    rows, height, top, down = _along(draw, high)
    return Stock(wide, high, columns, rows, width, height, left, top, across, down)


def overlap(stock: Stock, one: Place, other: Place) -> bool:
    return (
        one.sheet == other.sheet
        and abs(one.left_mm - other.left_mm) < stock.label_width - 0.001
        and abs(one.top_mm - other.top_mm) < stock.label_height - 0.001
    )


@given(stocks(), st.integers(1, 90), st.data())
def test_no_label_overlaps_another_or_leaves_the_page(
    stock: Stock, number: int, data: st.DataObject
) -> None:
    start = data.draw(st.integers(1, stock.labels))
    places = list(stock.places(number, start))
    assert len(places) == number
    assert not any(
        overlap(stock, one, other) for at, one in enumerate(places) for other in places[at + 1 :]
    )
    for place in places:
        assert place.left_mm >= 0
        assert place.top_mm >= 0
        assert place.left_mm + stock.label_width <= stock.page_width + 0.051
        assert place.top_mm + stock.label_height <= stock.page_height + 0.051


@given(stocks(), st.data())
def test_a_used_sheet_goes_on_where_it_ended(stock: Stock, data: st.DataObject) -> None:
    used = data.draw(st.integers(0, stock.labels - 1))
    whole = list(stock.places(stock.labels + 5))
    assert list(stock.places(stock.labels + 5 - used, used + 1)) == whole[used:]
    assert all(one != other for one, other in pairwise(whole))


@given(stocks())
def test_stock_in_words_is_the_stock_it_tells(stock: Stock) -> None:
    text = (
        f"{stock.page_width} x {stock.page_height} {stock.columns}x{stock.rows} "
        f"{stock.label_width}x{stock.label_height} left {stock.left} top {stock.top} "
        f"gap {stock.gap_across} x {stock.gap_down}"
    )
    assert stock_of(text) == stock


@pytest.mark.parametrize("name", COMMON)
def test_common_stock_is_found_by_its_size_and_has_even_margins(name: str) -> None:
    """As measured on such a sheet: it lies in the middle of the page, to half a millimetre."""
    stock = COMMON[name]
    assert stock_of(name) == stock
    assert stock_of(name.partition(",")[0]) == stock
    assert f" {stock.labels} a sheet" in name
    right = stock.page_width - stock.column_mm(stock.columns - 1) - stock.label_width
    bottom = stock.page_height - stock.row_mm(stock.rows - 1) - stock.label_height
    assert right == pytest.approx(stock.left, abs=0.5)
    assert bottom == pytest.approx(stock.top, abs=0.5)


def test_margins_that_are_left_out_are_even() -> None:
    stock = stock_of("A4 2 x 3 90 mm x 90")
    assert (stock.left, stock.top) == (15.0, 13.5)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no sheet of labels: write its measures in mm"),
        ("21", "no sheet of labels"),
        ("a4 4x7 63.5x38.1", "4 labels of 63.5 mm across.* take 254 mm of a page of 210 mm"),
        ("a4 3x8 63.5x38.1", "8 labels of 38.1 mm down"),
        ("a4 0x7 63.5x38.1", "1 to 100 columns"),
        ("a4 3x7 4x38.1", "at least 5 mm"),
        ("a4 3x7 63.5x38.1 left 30", "margin of 30 mm"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused_in_one_line(text: str, says: str) -> None:
    with pytest.raises(RequestError, match=says) as refused:
        stock_of(text)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("start", [0, 22])
def test_a_sheet_has_no_label_beyond_its_last(start: int) -> None:
    with pytest.raises(RequestError, match="this sheet has labels 1 to 21"):
        list(stock_of("63.5 x 38.1").places(1, start))
