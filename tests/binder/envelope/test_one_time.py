"""One-time codes: RFC 6238 and RFC 4648, and the addresses sites show."""

from __future__ import annotations

import base64
import contextlib
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.envelope import one_time
from binder.envelope.secret_value import SecretValue
from binder.errors import RequestError

SEED = b"1234567890"
SEEDS = {"SHA1": 20, "SHA256": 32, "SHA512": 64}  # bytes; the appendix' text shows the first only

# RFC 6238, appendix B: all rows.
ROWS = [
    (59, "94287082", "46119246", "90693936"),
    (1111111109, "07081804", "68084774", "25091201"),
    (1111111111, "14050471", "67062674", "99943326"),
    (1234567890, "89005924", "91819424", "93441116"),
    (2000000000, "69279037", "90698825", "38618901"),
    (20000000000, "65353130", "77737706", "47863826"),
]


def at(seconds: int) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)


def codes(uri: str) -> one_time.OneTimeCodes:
    return one_time.parse(SecretValue(uri))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: str(row[0]))
@pytest.mark.parametrize(("algorithm", "size"), SEEDS.items())
def test_codes_are_those_of_rfc_6238_appendix_b(
    algorithm: str, size: int, row: tuple[int, str, str, str]
) -> None:
    seed = base64.b32encode((SEED * 7)[:size]).decode().rstrip("=")
    seconds, *expected = row
    uri = f"otpauth://totp/quillmere?secret={seed}&algorithm={algorithm}&digits=8"
    code = codes(uri).at(at(seconds))
    assert code.value.expose() == expected[list(SEEDS).index(algorithm)]
    assert code.seconds_left == 30 - seconds % 30


@pytest.mark.parametrize(
    ("seconds", "expected"), [(59, "287082"), (1111111109, "081804"), (1234567890, "005924")]
)
def test_six_digits_keep_their_leading_zeros(seconds: int, expected: str) -> None:
    """The last six of the same rows (arithmetic)."""
    assert codes("GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ").at(at(seconds)).value.expose() == expected


@pytest.mark.parametrize(
    ("seconds", "expected"), [(0, "282760"), (59, "996554"), (1111111109, "071271")]
)
def test_a_seed_of_eighty_bits_as_many_sites_give_works(seconds: int, expected: str) -> None:
    """Shorter than RFC 4226 asks for; values computed from the RFC's own algorithm (X)."""
    assert codes("JBSWY3DPEHPK3PXP").at(at(seconds)).value.expose() == expected


@pytest.mark.parametrize(
    ("encoded", "expected"),
    [
        ("MY======", b"f"),
        ("MZXQ====", b"fo"),
        ("MZXW6===", b"foo"),
        ("MZXW6YQ=", b"foob"),
        ("MZXW6YTB", b"fooba"),
        ("MZXW6YTBOI======", b"foobar"),
    ],
)
def test_base32_is_that_of_rfc_4648_section_10(encoded: str, expected: bytes) -> None:
    """With padding and without, in groups, in small letters: as sites print it."""
    for typed in (encoded, encoded.rstrip("="), encoded.lower(), f" {encoded[:4]} {encoded[4:]}\n"):
        assert one_time.decode_base32(SecretValue(typed)) == expected


@given(st.binary(min_size=1, max_size=80))
def test_base32_gives_back_what_the_standard_library_encodes(seed: bytes) -> None:
    assert one_time.decode_base32(SecretValue(base64.b32encode(seed).decode())) == seed


@pytest.mark.parametrize(
    "typed", ["", "A", "MZX", "MZXW6Y", "MZXW1YTB", "MZXW8YTB", "MZ=XW6YTB", "pa88word", "é"]
)
def test_what_is_no_base32_is_refused_without_being_quoted(typed: str) -> None:
    with pytest.raises(RequestError) as caught:
        one_time.parse(SecretValue(typed))
    assert "base32" in str(caught.value)
    assert len(typed) < 3 or typed not in str(caught.value)


@pytest.mark.parametrize(
    ("uri", "seed", "period_s", "algorithm", "issuer", "account"),
    [
        ("otpauth://totp/ietfuser?secret=NBSWY3DP", b"hello", 30, "SHA1", "", "ietfuser"),
        (
            "otpauth://totp/big?issuer=IETF&secret=NBSWY3DP&period=5&algorithm=SHA256",
            b"hello", 5, "SHA256", "IETF", "big",
        ),
        (
            "otpauth://totp/Larkfen%20Fiber:%20quillmere?secret=NBSWY3DPFQQHO33SNRSAU",
            b"hello, world\n", 30, "SHA1", "Larkfen Fiber", "quillmere",
        ),
        (
            "OTPAUTH://TOTP/Larkfen%3Aquillmere?secret=nbswy3dp&issuer=Larkfen+Fiber",
            b"hello", 30, "SHA1", "Larkfen Fiber", "quillmere",
        ),
    ],
)  # fmt: skip
def test_addresses_are_read_as_the_draft_and_the_practice_before_it_have_them(
    uri: str, seed: bytes, period_s: int, algorithm: str, issuer: str, account: str
) -> None:
    """draft-linuxgemini-otpauth-uri-02: its examples for totp, and the older label."""
    assert codes(uri) == one_time.OneTimeCodes(seed, algorithm, 6, period_s, issuer, account)


@pytest.mark.parametrize(
    ("uri", "says"),
    [
        ("otpauth://hotp/13tfus3r?secret=NBSWY3DP&counter=192", "counter"),
        ("otpauth://totp/x", "otpauth address is like"),
        ("otpauth://totp/x?secret=", "otpauth address is like"),
        ("otpauth://totp/x?secret=NBSWY3DP&secret=MZXW6YTB", "otpauth address is like"),
        ("otpauth://[totp/x?secret=NBSWY3DP", "otpauth address is like"),
        ("otpauth://totp/x?secret=NBSWY3D1", "base32"),
        ("otpauth://totp/x?secret=NBSWY3DP&digits=5", "6 to 8"),
        ("otpauth://totp/x?secret=NBSWY3DP&digits=9", "6 to 8"),
        ("otpauth://totp/x?secret=NBSWY3DP&period=0", "1 to 3600"),
        ("otpauth://totp/x?secret=NBSWY3DP&period=-1", "1 to 3600"),
        ("otpauth://totp/x?secret=NBSWY3DP&algorithm=MD5", "SHA1, SHA256, SHA512"),
    ],
)
def test_an_address_that_makes_no_codes_by_the_clock_is_refused(uri: str, says: str) -> None:
    with pytest.raises(RequestError, match=says) as caught:
        codes(uri)
    assert "NBSWY3D" not in str(caught.value)


@given(st.text(max_size=60))
def test_any_text_makes_codes_or_is_refused(typed: str) -> None:
    """Nothing but RequestError, whatever was typed."""
    for text in (typed, f"otpauth://totp/{typed}", f"otpauth://totp/x?secret={typed}"):
        with contextlib.suppress(RequestError):
            assert codes(text).at(at(0)).value.expose().isdecimal()
