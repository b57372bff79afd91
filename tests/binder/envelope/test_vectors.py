"""The functions of `ciphers.py` against the values published with each algorithm."""

from __future__ import annotations

import os

import pytest
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id
from hypothesis import given
from hypothesis import strategies as st

from binder.envelope import ciphers


def test_the_argon2id_we_use_is_that_of_rfc_9106() -> None:
    """RFC 9106, section 5.3, with its secret and associated data, which the envelope leaves out."""
    derived = Argon2id(
        salt=b"\x02" * 16, length=32, iterations=3, lanes=4, memory_cost=32,
        ad=b"\x04" * 12, secret=b"\x03" * 8,
    ).derive(b"\x01" * 32)  # fmt: skip
    assert derived.hex() == "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659"


def test_argon2id_without_secret_and_associated_data() -> None:
    """The same input without the two: value of the `cryptography` library's KDF/argon2id.txt."""
    derived = ciphers.argon2id(b"\x01" * 32, b"\x02" * 16, memory_kib=32, passes=3, lanes=4)
    assert derived.hex() == "03aab965c12001c9d7d0d2de33192c0494b684bb148196d73c1df1acaf6d0c2e"


@pytest.mark.parametrize(
    ("key", "salt", "info", "expected"),
    [
        (
            "0b" * 22,
            "000102030405060708090a0b0c",
            "f0f1f2f3f4f5f6f7f8f9",
            "3cb25f25faacd57a90434f64d0362f2a2d2d0a90cf1a5a4c5db02d56ecc4c5bf34007208d5b887185865",
        ),
        (
            bytes(range(0x00, 0x50)).hex(),
            bytes(range(0x60, 0xB0)).hex(),
            bytes(range(0xB0, 0x100)).hex(),
            "b11e398dc80327a1c8e7f78c596a49344f012eda2d4efad8a050cc4c19afa97c59045a99cac7827271cb"
            "41c65e590e09da3275600c2f09b8367793a9aca3db71cc30c58179ec3e87c14c01d5c1f3434f1d87",
        ),
        (
            "0b" * 22,
            "",
            "",
            "8da4e775a563c18f715f802a063c5a31b8a11f5c5ee1879ec3454e5f3c738d2d9d201395faa4b61a96c8",
        ),
    ],
    ids=["A.1", "A.2", "A.3"],
)
def test_hkdf_gives_the_values_of_rfc_5869_appendix_a(
    key: str, salt: str, info: str, expected: str
) -> None:
    key_bytes, salt_bytes, info_bytes = (bytes.fromhex(text) for text in (key, salt, info))
    derived = ciphers.hkdf(key_bytes, salt=salt_bytes, info=info_bytes, length=len(expected) // 2)
    assert derived.hex() == expected


@pytest.mark.parametrize(
    ("passphrase", "salt", "rounds", "expected"),
    [
        (
            b"passwd",
            b"salt",
            1,
            "55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc"
            "49ca9cccf179b645991664b39d77ef317c71b845b1e30bd509112041d3a19783",
        ),
        (
            b"Password",
            b"NaCl",
            80_000,
            "4ddcd8f60b98be21830cee5ef22701f9641a4418d04c0414aeff08876b34ab56"
            "a1d425a1225833549adb841b51c9b3176a272bdebba1d078478f62b397f33c8d",
        ),
    ],
)
def test_pbkdf2_gives_the_values_of_rfc_7914_section_11(
    passphrase: bytes, salt: bytes, rounds: int, expected: str
) -> None:
    assert ciphers.pbkdf2(passphrase, salt, rounds=rounds, length=64).hex() == expected


# McGrew and Viega, The Galois/Counter Mode of Operation, appendix B, the cases with 256-bit keys.
K = "feffe9928665731c6d6a8f9467308308" * 2
IV = "cafebabefacedbaddecaf888"
A = "feedfacedeadbeeffeedfacedeadbeefabaddad2"
P60 = (
    "d9313225f88406e5a55909c5aff5269a86a7a9531534f7da2e4c303d8a318a72"
    "1c3c0c95956809532fcf0e2449a6b525b16aedf5aa0de657ba637b39"
)
C64 = (
    "522dc1f099567d07f47f37a32a84427d643a8cdcbfe5c0c97598a2bd2555d1aa"
    "8cb08e48590dbb3da7b08b1056828838c5f61e6393ba7a0abcc9f662898015ad"
)
CASES = {
    13: ("00" * 32, "00" * 12, "", "", "", "530f8afbc74536b9a963b4f1c4cb738b"),
    14: ("00" * 32, "00" * 12, "00" * 16, "", "cea7403d4d606b6e074ec5d3baf39d18",
         "d0d1c8a799996bf0265b98b5d48ab919"),
    15: (K, IV, P60 + "1aafd255", "", C64, "b094dac5d93471bdec1a502270e3cc6c"),
    16: (K, IV, P60, A, C64[:120], "76fc6ece0f4e1768cddf8853bb2d551b"),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_seal_gives_the_published_values_of_aes_256_gcm(
    case: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    key, nonce, plaintext, associated, ciphertext, tag = map(bytes.fromhex, CASES[case])
    monkeypatch.setattr(os, "urandom", lambda size: nonce)
    assert ciphers.seal(key, plaintext, associated) == nonce + ciphertext + tag
    assert ciphers.unseal(key, nonce + ciphertext + tag, associated) == plaintext


def test_a_document_sealed_by_pbkdf2_and_aes_gcm_opens_in_browsers_too() -> None:
    """Both algorithms together, equal in Python and in WebCrypto (computed with both, X)."""
    key = ciphers.pbkdf2(b"correct horse battery staple", bytes(range(16)), rounds=600_000)
    assert key.hex() == "ef177144eec9420cbc1093d2a8b344a92bc506d0d4ec9c028dd19f8324d8c1e6"
    sealed = bytes(range(12)) + bytes.fromhex(
        "6cafe6e514c61ce99459e831c89debd580fad656ab4c1a65b092b597ede61f38961d85"
    )
    assert ciphers.unseal(key, sealed, b"") == b"binder export check"
    altered = bytearray(sealed)
    altered[12] ^= 1
    with pytest.raises(ciphers.Unopened):
        ciphers.unseal(key, bytes(altered), b"")


def test_hmac_sha_256() -> None:
    """RFC 4231, test case 2."""
    assert ciphers.mac(b"Jefe", b"what do ya want for nothing?").hex() == (
        "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
    )


# RFC 7748, section 6.1 (values from memory, recomputed).
ALICE = "77076d0a7318a57d3c16c17251b26645df4c2f87ebc0992ab177fba51db92c2a"
ALICE_PUBLIC = "8520f0098930a754748b7ddcb43ef75a0dbf3a0d26381af4eba4a98eaa9b4e6a"
BOB = "5dab087e624a8a4b79e17f8b83800ee66f3bb1292618b6fd1c2f8b27ff88e0eb"
BOB_PUBLIC = "de9edb7d7b7dc1b4d35b61c2ece435373f8343c85b78674dadfc7e146f882b4f"
SHARED = "4a5d9d5ba4ce2de1728e3bf480350f25e07e21c947d19e3376f09b3c1e161742"


def test_the_key_pair_of_a_keyholder_is_x25519() -> None:
    assert ciphers.public_key_of(bytes.fromhex(ALICE)).hex() == ALICE_PUBLIC
    assert ciphers.public_key_of(bytes.fromhex(BOB)).hex() == BOB_PUBLIC


def test_a_data_key_is_unwrapped_with_the_secret_both_sides_share() -> None:
    """What Alice wraps for Bob, built from the shared secret that the RFC prints."""
    bound, data_key = b"bound", bytes(range(32))
    alice, bob = bytes.fromhex(ALICE_PUBLIC), bytes.fromhex(BOB_PUBLIC)
    key = ciphers.hkdf(bytes.fromhex(SHARED), salt=alice + bob, info=bound)
    wrapped = alice + ciphers.seal(key, data_key, bound)
    assert ciphers.unwrap(bytes.fromhex(BOB), wrapped, bound) == data_key


def test_a_low_order_point_shares_no_secret_and_opens_nothing() -> None:
    """RFC 7748, section 6.1: the all-zero output is refused."""
    with pytest.raises(ciphers.Unopened):
        ciphers.unwrap(bytes.fromhex(BOB), bytes(92), b"bound")


@given(
    st.lists(st.none() | st.integers(0, 2**53) | st.text() | st.binary(), max_size=5),
    st.lists(st.none() | st.integers(0, 2**53) | st.text() | st.binary(), max_size=5),
)
def test_fields_tells_any_two_lists_apart(
    one: list[ciphers.Member], other: list[ciphers.Member]
) -> None:
    def as_bytes(members: list[ciphers.Member]) -> list[bytes | None]:
        """A number is its digits and text its UTF-8: only these may be mistaken for each other."""
        return [
            member if isinstance(member, bytes | None) else str(member).encode()
            for member in members
        ]

    same = as_bytes(one) == as_bytes(other)
    assert (ciphers.fields(*one) == ciphers.fields(*other)) == same


def test_fields_are_packed_as_the_format_says() -> None:
    assert ciphers.fields("ab", 10, None, b"") == (
        b"\x00\x00\x00\x02ab\x00\x00\x00\x0210\xff\xff\xff\xff\x00\x00\x00\x00"
    )


def test_a_passphrase_typed_on_another_keyboard_is_the_same() -> None:
    """One letter or letter and accent, wide or narrow: NFKC (Unicode Standard Annex 15)."""
    typed = [
        ciphers.passphrase_bytes(ciphers.SecretValue(t))
        for t in ("caf\u00e9 \uff11", "cafe\u0301 1")
    ]
    assert typed[0] == typed[1] == "caf\u00e9 1".encode()
