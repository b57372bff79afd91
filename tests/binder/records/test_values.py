"""What may be typed or loaded into a field, what is kept of it, and what is shown again."""

from __future__ import annotations

import ipaddress
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from binder.records.catalog import BY_NAME, KINDS
from binder.records.fields import Field, Type
from binder.records.quantities import UNITS
from binder.records.values import check, from_json, parse, parse_curve, show, to_json, typed
from tests.binder.generated import networks, stored

NOW = datetime(2026, 3, 14, 9, 40, tzinfo=UTC)
SYSTEMS = ("metric", "us")


def field(name: str) -> Field:
    kind, _, rest = name.partition(".")
    return BY_NAME[kind].field(rest)


def of(type_: Type, **more: Any) -> Field:
    return Field("x", "Value", type_, **{"example": "an example", **more})


def parsed(one: Field, text: str, system: str = "us") -> Any:
    return parse(one, text, system=system, now=NOW)


def refusal(one: Field, text: str) -> str:
    with pytest.raises(ValueError, match=r"\S") as refused:
        parsed(one, text)
    assert "\n" not in str(refused.value)
    return str(refused.value)


# One field of every (type, unit, bounds) there is.
_DIFFERENT = {
    (f.type, f.unit, f.minimum, f.maximum, f.choices): f
    for kind in KINDS
    for f in kind.all_fields
    if not f.is_reference
}
every_sort_of_field = st.sampled_from(list(_DIFFERENT.values()))


class TestRoundTrips:
    @given(data=st.data(), one=every_sort_of_field, system=st.sampled_from(SYSTEMS))
    @settings(max_examples=600, deadline=None)
    def test_what_a_form_is_filled_with_stores_the_same_again(
        self, data: st.DataObject, one: Field, system: str
    ) -> None:
        value = data.draw(stored(one))
        text = typed(one, value, system=system)
        assert parse(one, text, system=system, now=NOW) == value

    @given(data=st.data(), unit=st.sampled_from(sorted(UNITS)), system=st.sampled_from(SYSTEMS))
    @settings(max_examples=300, deadline=None)
    def test_quantities_of_every_unit_come_back_exactly(
        self, data: st.DataObject, unit: str, system: str
    ) -> None:
        one = of(Type.NUMBER, unit=unit)
        value = check(one, data.draw(st.floats(-9e10, 9e10)))
        assert parse(one, typed(one, value, system=system), system=system, now=NOW) == value

    @given(data=st.data(), one=every_sort_of_field)
    @settings(max_examples=300, deadline=None)
    def test_a_stored_value_is_its_own_stored_form(self, data: st.DataObject, one: Field) -> None:
        value = data.draw(stored(one))
        assert check(one, value) == value
        assert from_json(one, to_json(one, value)) == value

    @pytest.mark.parametrize("one", [f for f in _DIFFERENT.values() if not f.required], ids=str)
    def test_empty_stays_empty(self, one: Field) -> None:
        assert parsed(one, "  ") is None
        assert check(one, None) is None
        assert check(one, "") is None
        assert show(one, None, system="us") == ""
        assert typed(one, None, system="us") == ""
        assert to_json(one, None) is None

    def test_a_length_is_typed_as_it_is_shown_when_that_is_exact(self) -> None:
        depth = field("hardware.depth_mm")
        assert typed(depth, 609.6, system="us") == "24 in"
        assert typed(depth, 619.125, system="us") == "24.375 in"
        assert typed(depth, 618.066666667, system="us") == "618.066666667 mm"
        assert typed(depth, 609.6, system="metric") == "609.6 mm"


class TestText:
    def test_blanks_around_it_are_not_kept(self) -> None:
        assert parsed(of(Type.TEXT), "  SW1\t") == "SW1"
        assert check(of(Type.TEXT), " SW1 ") == "SW1"
        assert check(of(Type.LINES), "  indented\n\n") == "  indented"

    def test_a_required_name_is_not_blank(self) -> None:
        with pytest.raises(ValueError, match="Identifier is required, like SW1"):
            check(field("hardware.identifier"), " \t ")

    def test_escapes_and_markup_are_kept_as_typed(self) -> None:
        assert check(of(Type.TEXT), "\x1b[31m <b>[red]") == "\x1b[31m <b>[red]"

    @pytest.mark.parametrize(
        ("value", "says"),
        [
            ("one\ntwo", "one line of text"),
            ("a\x00b", "cannot hold a NUL"),
            ("half \ud83d", "a broken character"),
            (7, "is text"),
            (["a"], "is text"),
        ],
    )
    def test_what_is_no_text(self, value: Any, says: str) -> None:
        with pytest.raises(ValueError, match=says):
            check(of(Type.TEXT), value)


class TestAddresses:
    # RFC 7042, section 2.1.2: 00-00-5E-00-53-00 to FF are for documentation.
    @pytest.mark.parametrize(
        "text",
        [
            "00-00-5E-00-53-01", "00:00:5e:00:53:01", "0000.5e00.5301", "00005E005301",
            "00 00 5e 00 53 01", "0000:5E00:5301",
        ],
    )  # fmt: skip
    def test_mac_in_any_form(self, text: str) -> None:
        assert parsed(of(Type.MAC), text) == "00-00-5E-00-53-01"

    @pytest.mark.parametrize("text", ["00-00-5E-00-53", "00-00-5E-00-53-0G", "switch", "0" * 13])
    def test_no_mac(self, text: str) -> None:
        assert "12 hex digits" in refusal(of(Type.MAC), text)

    @given(st.ip_addresses())
    def test_ip_in_the_form_of_the_rfc(
        self, address: ipaddress.IPv4Address | ipaddress.IPv6Address
    ) -> None:
        # RFC 5952 (IPv6 text form); reference: the standard library's ipaddress.
        assert parsed(of(Type.IP), address.exploded.upper()) == address.compressed

    @pytest.mark.parametrize(
        "text", ["192.0.2.300", "192.0.2", "192.0.2.1/24", "fe80::1%eth0", "fe80::1%\x1b[2J", "1"]
    )
    def test_no_ip(self, text: str) -> None:
        assert "an IP address" in refusal(of(Type.IP), text)

    def test_numbers_are_no_addresses(self) -> None:
        for type_ in (Type.IP, Type.CIDR, Type.MAC):
            with pytest.raises(ValueError, match="like"):
                check(of(type_), 3221225985)

    @given(networks(4) | networks(6))
    def test_networks(self, network: str) -> None:
        assert parsed(of(Type.CIDR), network) == network

    @pytest.mark.parametrize(
        ("text", "says"),
        [
            ("192.0.2.1/26", "host bits are set"),
            ("192.0.2.0", "with its prefix"),
            ("192.0.2.0/33", "with its prefix"),
            ("fe80::%1/64", "with its prefix"),
        ],
    )
    def test_no_networks(self, text: str, says: str) -> None:
        assert says in refusal(of(Type.CIDR), text)

    def test_mask_becomes_a_prefix(self) -> None:
        assert parsed(of(Type.CIDR), "192.0.2.0/255.255.255.192") == "192.0.2.0/26"


class TestReachingPeople:
    @pytest.mark.parametrize(
        "text",
        [
            "+1 312 555 0100", "(312) 555-0100", "312.555.0100 x12", "312 555 0100 ext. 4", "911",
            "+44 20 7946 0018",
        ],
    )  # fmt: skip
    def test_phone(self, text: str) -> None:
        assert parsed(of(Type.PHONE), f" {text} ") == text

    @pytest.mark.parametrize("text", ["front desk", "12", "+", "312 555 0100\x1b[A", "555;0100"])
    def test_no_phone(self, text: str) -> None:
        assert "a phone number" in refusal(of(Type.PHONE), text)

    @pytest.mark.parametrize("text", ["priya@quillmere.example", "a.b+c@sub.example.com"])
    def test_email(self, text: str) -> None:
        assert parsed(of(Type.EMAIL), text) == text

    @pytest.mark.parametrize("text", ["priya", "@example.com", "a b@example.com", "a@b@c", "a@"])
    def test_no_email(self, text: str) -> None:
        assert "an e-mail address" in refusal(of(Type.EMAIL), text)

    @pytest.mark.parametrize(
        "text", ["https://192.0.2.2/", "HTTPS://portal.example", "ssh://192.0.2.2", "tel:911"]
    )
    def test_url(self, text: str) -> None:
        assert parsed(of(Type.URL), text) == text

    @pytest.mark.parametrize(
        "text",
        [
            "portal.example", "javascript:alert(1)", "file:///etc/passwd", "https://", "data:,x",
            "https://a b", "https://a\tb", "x https://a",
        ],
    )  # fmt: skip
    def test_no_url(self, text: str) -> None:
        assert "starts with one of: http://" in refusal(of(Type.URL), text)


class TestNumbers:
    @pytest.mark.parametrize(
        ("text", "cents"),
        [
            ("120", 12000), ("120.5", 12050), ("120.05", 12005), ("1,200.00", 120000),
            ("1,234,567", 123456700), ("-3.20", -320), ("0.01", 1),
            ("123456789012.34", 12345678901234),
        ],
    )  # fmt: skip
    def test_money_is_kept_in_whole_cents(self, text: str, cents: int) -> None:
        assert parsed(of(Type.MONEY), text) == cents

    @pytest.mark.parametrize(
        "text", ["1,50", "1.234", "12,34.00", "$5", "1e3", "ten", ".5", "1 200"]
    )
    def test_no_money(self, text: str) -> None:
        assert "at most two decimals" in refusal(of(Type.MONEY), text)

    @given(st.integers(-(10**14), 10**14))
    def test_money_in_json_is_exact(self, cents: int) -> None:
        money = of(Type.MONEY)
        assert Decimal(repr(to_json(money, cents))) == Decimal(cents) / 100
        assert from_json(money, to_json(money, cents)) == cents

    @pytest.mark.parametrize(
        "value", [1.234, float("nan"), float("inf"), 1e300, 10**400, "120", True, [1]]
    )
    def test_no_money_in_json(self, value: Any) -> None:
        with pytest.raises(ValueError, match=r"amount of money|at most two decimals"):
            from_json(of(Type.MONEY), value)

    @pytest.mark.parametrize("price", [-1, -0.01])
    def test_a_price_is_not_below_zero(self, price: float) -> None:
        with pytest.raises(ValueError, match="Price is at least 0"):
            from_json(field("hardware.price"), price)

    @pytest.mark.parametrize(
        ("text", "value"), [("16", 16), ("+16", 16), ("16 U", 16), ("16u", 16)]
    )
    def test_whole_numbers(self, text: str, value: int) -> None:
        assert parsed(field("rack.height_u"), text) == value

    @pytest.mark.parametrize("text", ["1.5", "16 in", "1e3", "0x10", "sixteen", "9" * 5000])
    def test_no_whole_numbers(self, text: str) -> None:
        assert "a whole number" in refusal(field("rack.height_u"), text)

    @pytest.mark.parametrize("value", [1.5, True, "1", 2**53, -(2**53), float("inf"), None, [1]])
    def test_no_whole_numbers_in_json(self, value: Any) -> None:
        # RFC 8259, section 6: integers from -(2^53)+1 to (2^53)-1 are read alike by all.
        with pytest.raises(ValueError, match=r"whole number|required"):
            check(of(Type.INTEGER, required=True), value)

    @pytest.mark.parametrize(
        ("name", "text", "says"),
        [
            ("rack.height_u", "61", "Height is from 1 to 60"),
            ("rack.height_u", "0", "Height is from 1 to 60"),
            ("port.vlan", "4095", "VLAN is from 1 to 4094"),
            ("hardware.weight_kg", "-1", "Weight is at least 0"),
        ],
    )
    def test_bounds_are_told(self, name: str, text: str, says: str) -> None:
        assert says in refusal(field(name), text)

    def test_an_upper_bound_alone_is_told(self) -> None:
        assert refusal(of(Type.INTEGER, maximum=5), "6") == "Value is at most 5"

    @pytest.mark.parametrize(
        "value", [float("nan"), float("inf"), -float("inf"), 10**400, 1e11, True, "1", [1]]
    )
    def test_no_numbers_in_json(self, value: Any) -> None:
        with pytest.raises(ValueError, match=r"is a number|too large"):
            check(of(Type.NUMBER), value)

    @pytest.mark.parametrize("text", ["1_000", "nan", "1,5", "1e3", "٣", "0x1p3", "--1"])
    def test_no_plain_numbers(self, text: str) -> None:
        assert "is a number" in refusal(of(Type.NUMBER), text)

    def test_a_bare_length_is_in_the_binders_unit(self) -> None:
        # 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
        assert parsed(field("hardware.depth_mm"), "24", "us") == 609.6
        assert parsed(field("hardware.depth_mm"), "24", "metric") == 24.0
        assert parsed(field("hardware.depth_mm"), '24"', "metric") == 609.6

    def test_zero_has_one_form(self) -> None:
        assert str(check(of(Type.NUMBER), -0.0)) == "0.0"


class TestDays:
    @pytest.mark.parametrize(
        ("text", "day"),
        [("2026-03-14", "2026-03-14"), ("+30d", "2026-04-13"), ("mon", "2026-03-16")],
    )
    def test_dates(self, text: str, day: str) -> None:
        assert parsed(of(Type.DATE), text) == day

    @pytest.mark.parametrize("value", ["2026-02-30", "14/03/2026", "0001-01-01", 20260314, ""])
    def test_no_dates_in_json(self, value: Any) -> None:
        with pytest.raises(ValueError, match=r"a date like|are taken|required"):
            check(of(Type.DATE, required=True), value)

    def test_moments_are_kept_in_utc(self) -> None:
        assert parsed(of(Type.MOMENT), "2026-03-14 10:40 +01:00") == "2026-03-14T09:40:00Z"
        chicago = timezone(timedelta(hours=-5))
        there = parse(of(Type.MOMENT), "09:40", system="us", now=NOW.astimezone(chicago))
        assert there == "2026-03-14T14:40:00Z"

    @pytest.mark.parametrize(
        "value",
        ["2026-03-14", "2026-03-14T09:40", "2026-02-30T09:40:00Z", "0001-01-01T00:00:00Z", 5],
    )
    def test_no_moments_in_json(self, value: Any) -> None:
        with pytest.raises(ValueError, match=r"a moment like|are taken"):
            check(of(Type.MOMENT), value)


class TestRules:
    # RFC 5545, section 3.3.10.
    @pytest.mark.parametrize(
        "text",
        [
            "FREQ=MONTHLY;INTERVAL=6", "FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU",
            "FREQ=WEEKLY;BYDAY=MO,FR", "FREQ=MONTHLY;BYMONTHDAY=-1", "INTERVAL=3;FREQ=MONTHLY",
            "FREQ=DAILY;COUNT=10",
            "FREQ=DAILY;UNTIL=20271231",
        ],
    )  # fmt: skip
    def test_rule(self, text: str) -> None:
        assert parsed(of(Type.RRULE), text.lower()) == text

    @pytest.mark.parametrize(
        "text",
        [
            "every fortnight", "every 0 days", "FREQ=FORTNIGHTLY", "FREQ=MONTHLY;BYMONTH=13",
            "INTERVAL=2",
            "FREQ=DAILY DTSTART:20260101", "FREQ=DAILY;FREQ", "FREQ=DAILY;NOPE=1", ";", "FREQ=",
            "FREQ=MONTHLY;BYMONTHDAY=-32", "FREQ=MONTHLY;BYMONTH=MAR",
        ],
    )  # fmt: skip
    def test_no_rule(self, text: str) -> None:
        assert "an RFC 5545 rule" in refusal(of(Type.RRULE), text)

    @pytest.mark.parametrize("text", ["FREQ=DAILY;INTERVAL=0", "FREQ=DAILY;COUNT=00"])
    def test_intervals_and_counts_are_positive(self, text: str) -> None:
        # An interval of 0 would repeat the same day for ever.
        assert "above zero" in refusal(of(Type.RRULE), text)

    @pytest.mark.parametrize("text", ["FREQ=HOURLY", "FREQ=SECONDLY", "FREQ=DAILY;BYHOUR=9"])
    def test_a_rule_that_starts_on_a_day_has_no_hours(self, text: str) -> None:
        # "The BYSECOND, BYMINUTE and BYHOUR rule parts MUST NOT be specified when the associated
        # DTSTART property has a DATE value type."
        assert "starts on a day" in refusal(of(Type.RRULE), text)


class TestCurves:
    def test_a_makers_table(self) -> None:
        assert parsed(of(Type.CURVE), "200:48,400:20 , 800:7.5") == "200:48, 400:20, 800:7.5"
        assert parse_curve("200:48, 400:20") == ((200.0, 48.0), (400.0, 20.0))

    @pytest.mark.parametrize(
        "text",
        [
            "200", "200:48:3", "400:20, 200:48", "200:20, 400:48", "200:20, 200:20", "0:9", "-5:9",
            "nan:1", "200:inf", "a:b", ",", "200:48,",
        ],
    )  # fmt: skip
    def test_no_table(self, text: str) -> None:
        assert "watts:minutes, rising loads" in refusal(of(Type.CURVE), text)


class TestChoices:
    @pytest.mark.parametrize("text", ["yes", "Y", "true", "1", "ON"])
    def test_yes(self, text: str) -> None:
        assert parsed(of(Type.FLAG), text) == 1

    @pytest.mark.parametrize("text", ["no", "N", "false", "0", "off"])
    def test_no(self, text: str) -> None:
        assert parsed(of(Type.FLAG), text) == 0

    def test_neither(self) -> None:
        assert refusal(of(Type.FLAG), "maybe") == "Value is yes or no"
        with pytest.raises(ValueError, match="Value is yes or no"):
            check(of(Type.FLAG), "yes")

    def test_a_choice_in_any_case(self) -> None:
        assert parsed(field("hardware.form"), "ups") == "UPS"
        assert "Kind is one of: switch, gateway" in refusal(field("hardware.form"), "gizmo")

    @pytest.mark.parametrize("value", [True, 0, -1, 2**53, "SW1", 1.0])
    def test_a_reference_is_an_id(self, value: Any) -> None:
        with pytest.raises(ValueError, match="names a record"):
            check(field("port.hardware"), value)

    def test_a_reference_is_not_read_from_text_here(self) -> None:
        assert "resolved against the binder" in refusal(field("port.hardware"), "SW1")


class TestShown:
    @pytest.mark.parametrize(
        ("name", "value", "shown"),
        [
            ("hardware.price", 123456, "1,234.56"),
            ("hardware.approved", 1, "yes"),
            ("rack.height_u", 18, "18 U"),
            ("hardware.depth_mm", 609.6, "24 in"),
            ("log_entry.opened_at", "2026-03-14T09:40:00Z", "2026-03-14 09:40 UTC"),
            ("hardware.power_factor", 0.95, "0.95"),
            ("hardware.identifier", "SW1", "SW1"),
        ],
    )
    def test_as_people_read_it(self, name: str, value: Any, shown: str) -> None:
        assert show(field(name), value, system="us") == shown


def test_every_type_is_looked_into() -> None:
    assert set(Type) - {f.type for f in _DIFFERENT.values()} == {Type.REF, Type.SUBJECT}
    assert not isinstance(stored(field("hardware.serial")), Iterator)
