"""How often a duty repeats. Source of rules: RFC 5545 (September 2009), section 3.3.10."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.records.catalog import BY_NAME
from binder.records.recurrence import parse_repeats, repeats, type_repeats
from binder.records.values import check, show


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        ("FREQ=DAILY", "every day"),
        ("FREQ=MONTHLY;INTERVAL=6", "every 6 months"),
        ("FREQ=WEEKLY;INTERVAL=13;BYDAY=WE", "every 13 weeks on Wednesday"),
        ("FREQ=WEEKLY;BYDAY=MO,TH", "every week on Monday and Thursday"),
        ("FREQ=YEARLY;BYMONTH=4", "every year in April"),
        ("FREQ=MONTHLY;BYDAY=-1FR", "every month (BYDAY=-1FR)"),
    ],
)
def test_a_rule_in_words(rule: str, words: str) -> None:
    assert repeats(rule) == words


@pytest.mark.parametrize(
    ("typed", "rule"),
    [
        ("every 6 months", "FREQ=MONTHLY;INTERVAL=6"),
        ("Every  2 weeks", "FREQ=WEEKLY;INTERVAL=2"),
        ("every 1 year", "FREQ=YEARLY"),
        ("quarterly", "FREQ=MONTHLY;INTERVAL=3"),
        ("freq=monthly;bymonthday=-1", "FREQ=MONTHLY;BYMONTHDAY=-1"),
    ],
)
def test_how_often_is_typed_in_words(typed: str, rule: str) -> None:
    assert parse_repeats(typed) == rule


_RULES = st.builds(
    lambda often, rest: ";".join([f"FREQ={often}", *rest]),
    st.sampled_from(["DAILY", "WEEKLY", "MONTHLY", "YEARLY"]),
    st.lists(
        st.sampled_from(["INTERVAL=1", "INTERVAL=6", "INTERVAL=06", "COUNT=4", "BYMONTH=3"]),
        max_size=2,
        unique_by=lambda part: part.partition("=")[0],
    ),
)


@given(rule=_RULES)
def test_what_a_form_is_filled_with_stores_the_same_rule(rule: str) -> None:
    assert parse_repeats(type_repeats(rule)) == rule


def test_how_often_is_kept_as_a_rule_and_shown_in_words() -> None:
    field = BY_NAME["duty"].field("rule")
    stored = check(field, "yearly")
    assert stored == "FREQ=YEARLY"
    assert show(field, stored, system="us") == "every year"
    with pytest.raises(ValueError, match="Repeats is written like every 6 months, or as an RFC"):
        check(field, "now and then")
