"""Secrets sealed into a document: what opens, what never does, and what the bytes are."""

from __future__ import annotations

import base64
import functools
import hashlib
import json
import re
import traceback
import unicodedata
from dataclasses import replace

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from hypothesis import given, settings
from hypothesis import strategies as st

from binder.envelope import ciphers, sealed
from binder.envelope.sealed import Contents, NotUnsealed, SealedSecret, seal, unseal
from binder.envelope.secret_value import SecretValue
from binder.errors import RequestError

PASSPHRASE = SecretValue("k7m2q-9xw4t-e0vzh-3ndpr")
PIN = SealedSecret("fibre account PIN", "PIN", "fibre", SecretValue("canary 4471"))
SEED = SealedSecret(
    "portal code", "one-time-code seed", "portal / voss",
    SecretValue("otpauth://totp/voss?secret=GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ&digits=8"),
)  # fmt: skip
WIFI = SealedSecret(
    "guest key", "pre-shared key", "Guest", SecretValue("gather;moss"), ("10", "01")
)
CONTENTS = Contents("Quillmere", "2026-03-14", "Priya Nandakumar", (PIN, SEED, WIFI))


def page(block: str) -> str:
    return f'<p>x</p>\n<script type="application/json" id="sealed-secrets">{block}</script>\n'


@pytest.fixture(scope="module")
def block() -> str:
    return seal(CONTENTS, PASSPHRASE)


def altered(block: str, **members: object) -> str:
    return json.dumps(json.loads(block) | members, separators=(",", ":"))


def opens(block: str, passphrase: SecretValue = PASSPHRASE) -> bool:
    try:
        return bool(unseal(page(block), passphrase))
    except NotUnsealed:
        return False


# Opening. ---------------------------------------------------------------------------------


def test_what_was_sealed_opens_with_its_passphrase(block: str) -> None:
    assert unseal(page(block), PASSPHRASE) == CONTENTS


texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
secrets = st.builds(
    SealedSecret,
    texts,
    st.sampled_from(["password", "PIN", "one-time-code seed", "pre-shared key"]),
    texts,
    st.builds(SecretValue, texts),
    st.lists(st.text("01", max_size=3), max_size=3).map(tuple),
)


@settings(max_examples=15, deadline=None)
@given(
    st.builds(Contents, texts, texts, texts, st.lists(secrets, max_size=4).map(tuple)),
    st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=30),
)
def test_whatever_is_sealed_opens_as_it_was(contents: Contents, passphrase: str) -> None:
    block = seal(contents, SecretValue(passphrase))
    assert unseal(page(block), SecretValue(passphrase)) == contents
    assert "<" not in block  # so that nothing in it can end its element
    assert block.isascii()


@pytest.mark.parametrize("typed", [" k7m2q-9xw4t-e0vzh-3ndpr\r\n", "\tk7m2q-9xw4t-e0vzh-3ndpr"])
def test_a_passphrase_that_was_pasted_with_a_line_end_opens(block: str, typed: str) -> None:
    assert opens(block, SecretValue(typed))


@pytest.mark.parametrize("typed", ["", "k7m2q-9xw4t-e0vzh-3ndp", "K7M2Q-9XW4T-E0VZH-3NDPR"])
def test_another_passphrase_does_not_open(block: str, typed: str) -> None:
    assert not opens(block, SecretValue(typed))


def test_two_documents_share_neither_salt_nor_nonce_nor_ciphertext(block: str) -> None:
    one, other = (json.loads(b) for b in (block, seal(CONTENTS, PASSPHRASE)))
    for member in ("salt", "iv", "sealed"):
        assert one[member] != other[member]


def test_the_length_tells_no_value(block: str) -> None:
    """The envelope promises the same of its own values: a PIN of 4 looks like one of 14."""
    longer = replace(PIN, value=SecretValue("4471 2280 9153"))
    contents = replace(CONTENTS, secrets=(longer, SEED, WIFI))
    assert len(seal(contents, PASSPHRASE)) == len(block)


# Not opening. -----------------------------------------------------------------------------


def test_every_byte_altered_in_turn_is_refused_in_the_same_words(
    block: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each bit of it in some place: what did not come out as it went in never opens."""
    monkeypatch.setattr(ciphers, "pbkdf2", functools.cache(ciphers.pbkdf2))  # only to be quick
    said = set()
    for at, character in enumerate(block):
        other = chr(ord(character) ^ (1 << at % 7))
        with pytest.raises((NotUnsealed, RequestError)) as caught:
            unseal(page(block[:at] + other + block[at + 1 :]), PASSPHRASE)
        said.add(str(caught.value))
    with pytest.raises(NotUnsealed) as wrong:
        unseal(page(block), SecretValue("wrong"))
    assert said == {str(wrong.value)}


def test_no_other_way_to_write_the_same_block_is_taken(block: str) -> None:
    """White space, order, doubled members, numbers in another form, bits that padding leaves."""
    members = json.loads(block)
    last = members["salt"][21]
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
    loose = members["salt"][:21] + alphabet[alphabet.index(last) + 1] + "=="
    assert base64.b64decode(loose) == base64.b64decode(members["salt"])
    for other in (
        block + " ",
        json.dumps(members),
        json.dumps(dict(reversed(members.items())), separators=(",", ":")),
        block.replace('"format":1', '"format":1,"format":1'),
        block.replace("600000", "600000.0"),
        block.replace("600000", '"600000"'),
        altered(block, more=1),
        altered(block, salt=loose),
    ):
        assert other != block
        assert not opens(other)


@pytest.mark.parametrize("iterations", [-1, 0, 1, 599_999, 10_000_001, 2**31, 10**400, 1e9, None])
def test_iterations_out_of_bounds_are_refused_before_anything_is_computed(
    block: str, iterations: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    def computed(*given: object, **named: object) -> bytes:
        pytest.fail("it was computed")

    monkeypatch.setattr(ciphers, "pbkdf2", computed)
    assert not opens(altered(block, iterations=iterations))


@pytest.mark.parametrize(
    "members",
    [
        {"format": 2}, {"kdf": "PBKDF2-HMAC-SHA-1"}, {"cipher": "AES-128-GCM"}, {"salt": ""},
        {"iv": ""}, {"iv": "AAAA"}, {"sealed": ""}, {"sealed": "AAAA"}, {"salt": 1}, {"salt": "é"},
        {"sealed": None}, {"iv": ["a"]},
    ],
)  # fmt: skip
def test_members_that_cannot_be_are_refused(block: str, members: dict[str, object]) -> None:
    assert not opens(altered(block, **members))


@pytest.mark.parametrize("text", ["", "{}", "[]", "null", "1", "[" * 100_000, "{" * 9, "\x00", "é"])
def test_what_is_no_block_at_all_is_refused_in_the_same_words(text: str) -> None:
    assert not opens(text)


def test_more_than_a_document_holds_is_not_looked_at(block: str) -> None:
    assert not opens(altered(block, sealed="A" * (16 * 2**20 + 4)))


def test_a_file_without_secrets_says_so() -> None:
    with pytest.raises(RequestError, match="no secrets are sealed in this file"):
        unseal("<p>k7m2q</p>", PASSPHRASE)


def test_of_two_blocks_none_opens(block: str) -> None:
    """Whose is it? The page would take the first, and a person may not see that."""
    with pytest.raises(NotUnsealed):
        unseal(page(block) * 2, PASSPHRASE)


@pytest.mark.parametrize(
    "plaintext",
    ["", "null", "[]", "{}", '{"client":1}', "[" * 100_000, "\ud800", '{"client":"canary 4471',
     '{"client":"a","sealed_on":"b","recipient":"c","secrets":5}',
     '{"client":"a","sealed_on":"b","recipient":"c","secrets":[5]}',
     '{"client":"a","sealed_on":"b","recipient":"c","secrets":[{"name":"canary 4471"}]}',
     '{"client":"a","sealed_on":"b","recipient":"c","secrets":[{"name":"n","kind":"k",'
     '"belongs_to":"o","value":"v","qr":[1]}]}'],
)  # fmt: skip
def test_contents_of_another_making_do_not_crash_it_and_are_not_quoted(
    plaintext: str, block: str
) -> None:
    members = json.loads(block)
    key, associated = key_and_associated(members, PASSPHRASE.expose())
    iv = base64.b64decode(members["iv"])
    data = AESGCM(key).encrypt(iv, plaintext.encode(errors="surrogatepass"), associated)
    with pytest.raises(NotUnsealed) as caught:
        unseal(page(altered(block, sealed=base64.b64encode(data).decode())), PASSPHRASE)
    told = traceback.TracebackException.from_exception(caught.value, capture_locals=True)
    frames = [frame for frame in told.stack if "/tests/" not in frame.filename]
    assert "canary" not in str([frame.locals for frame in frames])
    assert caught.value.__context__ is None


def test_a_value_is_in_no_representation() -> None:
    assert "canary" not in repr(CONTENTS)


# From FORMAT.md alone, with `hashlib` and `cryptography`. -----------------------------------


def key_and_associated(members: dict[str, object], typed: str) -> tuple[bytes, bytes]:
    passphrase = unicodedata.normalize("NFKC", typed).strip(" \t\r\n").encode("utf-8")
    salt, iv = (base64.b64decode(str(members[name])) for name in ("salt", "iv"))
    iterations = members["iterations"]
    assert isinstance(iterations, int)
    key = hashlib.pbkdf2_hmac("sha256", passphrase, salt, iterations, 32)
    associated = b"".join(
        len(member).to_bytes(4, "big") + member
        for member in (
            b"binder-sealed-document/1", str(members["kdf"]).encode(), str(iterations).encode(),
            str(members["cipher"]).encode(), salt, iv,
        )
    )  # fmt: skip
    return key, associated


def another_program(html: str, typed: str) -> dict[str, object]:
    """Opens a sealed document by what the page of the format says, and by nothing else."""
    (block,) = re.findall(
        r'<script type="application/json" id="sealed-secrets">([^<]*)</script>', html
    )
    members = json.loads(block)
    key, associated = key_and_associated(members, typed)
    sealed_bytes = base64.b64decode(members["sealed"])
    plaintext = AESGCM(key).decrypt(base64.b64decode(members["iv"]), sealed_bytes, associated)
    assert len(plaintext) % 1024 == 0
    found: dict[str, object] = json.loads(plaintext.decode("utf-8"))
    return found


def test_another_program_opens_it_from_the_description_alone(block: str) -> None:
    assert another_program(page(block), PASSPHRASE.expose()) == {
        "client": "Quillmere",
        "sealed_on": "2026-03-14",
        "recipient": "Priya Nandakumar",
        "secrets": [
            {"name": "fibre account PIN", "kind": "PIN", "belongs_to": "fibre",
             "value": "canary 4471"},
            {"name": "portal code", "kind": "one-time-code seed", "belongs_to": "portal / voss",
             "value": SEED.value.expose(),
             "codes": {"seed": base64.b64encode(b"12345678901234567890").decode(),
                       "hash": "SHA-1", "digits": 8, "period_s": 30}},
            {"name": "guest key", "kind": "pre-shared key", "belongs_to": "Guest",
             "value": "gather;moss", "qr": ["10", "01"]},
        ],
    }  # fmt: skip


def test_the_parameters_are_those_that_are_recommended(block: str) -> None:
    """OWASP, Password Storage Cheat Sheet (2026): PBKDF2-HMAC-SHA256 with 600,000 iterations."""
    assert json.loads(block)["iterations"] >= 600_000
    assert sealed.ITERATIONS >= 600_000


def test_it_is_sealed_under_the_key_that_a_browser_derives_too(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Through `seal` itself, with the randomness of the composite value that WebCrypto gives too.

    The key: computed in Python and in a browser's engine (X). PBKDF2 itself: RFC 7914, section 11,
    in test_vectors.py.
    """
    fixed = {16: bytes(range(16)), 12: bytes(range(12))}
    monkeypatch.setattr(sealed.os, "urandom", lambda size: fixed[size])
    members = json.loads(seal(CONTENTS, SecretValue("correct horse battery staple")))
    _, associated = key_and_associated(members, "correct horse battery staple")
    key = bytes.fromhex("ef177144eec9420cbc1093d2a8b344a92bc506d0d4ec9c028dd19f8324d8c1e6")
    plaintext = AESGCM(key).decrypt(fixed[12], base64.b64decode(members["sealed"]), associated)
    assert json.loads(plaintext)["client"] == "Quillmere"
