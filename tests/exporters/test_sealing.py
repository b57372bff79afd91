"""What goes into a document sealed, what is written down of it, and what a document tells."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from binder.envelope.opened import Envelope
from binder.envelope.reports import leaver, log_of_secret, seen_by
from binder.envelope.sealed import unseal
from binder.envelope.secret_value import SecretValue
from binder.errors import RequestError
from binder.file import BinderFile
from exporters.export import export, render
from exporters.sealing import Sealing, choose
from tests.exporters.conftest import KEY, PASSPHRASE, PASSWORD, PIN, SEED, STEM, TODAY


@pytest.fixture
def sealed_page(closet: BinderFile, envelope: Envelope) -> Callable[..., str]:
    """`sealed_page("fibre PIN")`: the handoff with these secrets sealed for Priya Nandakumar."""

    def sealed_page(*named: str) -> str:
        chosen = choose(closet, named)
        sealing = Sealing(envelope, chosen.secret_ids, "Priya Nandakumar", PASSPHRASE)
        files = render(closet, "handoff", form="html", today=TODAY, sealing=sealing)
        return files[f"{STEM}-sealed-for-priya-nandakumar.html"]

    return sealed_page


def values(page: str) -> dict[str, str]:
    return {s.name: s.value.expose() for s in unseal(page, PASSPHRASE).secrets}


# Which. -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("named", "kept_by", "expected"),
    [
        ([], "", {"SW1 password", "fibre PIN", "guest key", "portal code"}),
        (["fibre PIN"], "", {"fibre PIN"}),
        (["fibre pin", "GUEST key", "fibre PIN"], "", {"fibre PIN", "guest key"}),
        (["circuit fibre"], "", {"fibre PIN", "portal code"}),
        (["SW1 / admin"], "", {"SW1 password"}),
        ([], "shop team", {"SW1 password"}),
        ([], "Shop Team", {"SW1 password"}),
        (["fibre PIN", "guest key"], "front desk", {"guest key"}),
    ],
)
def test_secrets_are_chosen_by_name_by_what_they_open_or_by_who_keeps_them(
    closet: BinderFile, envelope: Envelope, named: list[str], kept_by: str, expected: set[str]
) -> None:
    chosen = choose(closet, named, kept_by)
    sealing = Sealing(envelope, chosen.secret_ids, "Priya Nandakumar", PASSPHRASE)
    (page,) = render(closet, "handoff", form="html", today=TODAY, sealing=sealing).values()
    assert set(values(page)) == expected


def test_those_without_a_value_are_left_out_and_told(
    closet: BinderFile, envelope: Envelope
) -> None:
    assert choose(closet).without_value == ("cellular PIN",)
    with pytest.raises(RequestError, match="none of these secrets has a value"):
        choose(closet, ["cellular PIN"])


def test_a_former_secret_goes_only_when_it_is_named(
    closet: BinderFile, envelope: Envelope, change: Callable[..., None]
) -> None:
    change("secret fibre PIN", status="former")
    assert len(choose(closet).secret_ids) == 3
    assert len(choose(closet, ["fibre PIN"]).secret_ids) == 1


@pytest.mark.parametrize(
    ("named", "kept_by", "says"),
    [
        (["attic key"], "", "no record is named 'attic key'"),
        (["GW1"], "", "no secret belongs to it"),
        ([], "nobody", "no secret is kept by 'nobody'"),
    ],
)
def test_a_choice_that_leaves_nothing_says_why(
    closet: BinderFile, envelope: Envelope, named: list[str], kept_by: str, says: str
) -> None:
    with pytest.raises(RequestError, match=says):
        choose(closet, named, kept_by)


# What is written down. --------------------------------------------------------------------


def test_sealing_is_a_reveal_of_each_secret_to_the_recipient(
    closet: BinderFile, sealed_page: Callable[..., str]
) -> None:
    sealed_page("fibre PIN", "guest key")
    seen = seen_by(closet, "Priya Nandakumar")
    assert [(s.secret, s.how, s.why) for s in seen] == [
        ("fibre PIN", "hand over", "sealed into handoff, draft"),
        ("guest key", "hand over", "sealed into handoff, draft"),
    ]
    assert len(leaver(closet, "Priya Nandakumar").to_rotate) == 2


def test_a_document_without_secrets_writes_nothing_down(
    closet: BinderFile, envelope: Envelope
) -> None:
    before = envelope.head()
    render(closet, "handoff", form="html", today=TODAY)
    assert envelope.head() == before


@pytest.mark.parametrize(
    ("form", "passphrase", "recipient", "says"),
    [
        ("markdown", PASSPHRASE.expose(), "Priya Nandakumar", "markdown cannot carry"),
        ("html", "short", "Priya Nandakumar", "at least 15 characters"),
        ("html", "Quillmere Veterinary Clinic", "Priya Nandakumar", "name from this binder"),
        ("html", PASSPHRASE.expose(), " ", "recipient: a line"),
    ],
)
def test_what_cannot_be_sealed_is_refused_before_anything_is_written_down(
    closet: BinderFile, envelope: Envelope, form: str, passphrase: str, recipient: str, says: str
) -> None:
    before = envelope.head()
    sealing = Sealing(envelope, choose(closet).secret_ids, recipient, SecretValue(passphrase))
    with pytest.raises(RequestError, match=says):
        render(closet, "handoff", form=form, today=TODAY, sealing=sealing)
    assert envelope.head() == before


# What the document holds. -----------------------------------------------------------------


def test_it_gives_the_values_back_and_holds_none_in_the_clear(
    sealed_page: Callable[..., str],
) -> None:
    page = sealed_page()
    assert values(page) == {
        "SW1 password": PASSWORD, "fibre PIN": PIN, "guest key": KEY, "portal code": SEED,
    }  # fmt: skip
    assert "canary" not in page
    assert PASSPHRASE.expose() not in page


@pytest.mark.parametrize("form", ["html", "markdown"])
def test_an_unsealed_document_holds_no_value_sealed_or_not(
    closet: BinderFile, envelope: Envelope, form: str
) -> None:
    text = "".join(render(closet, "handoff", form=form, today=TODAY).values())
    assert "canary" not in text
    assert "sealed-secrets" not in text
    assert "sealed in this document" not in text


def test_an_unsealed_document_tells_where_each_secret_is_and_who_holds_it(
    closet: BinderFile, envelope: Envelope, section: Callable[[str], str]
) -> None:
    text = section("accounts")
    assert "kept by shop team, encrypted in the binder" in text
    assert "kept by Priya Nandakumar, encrypted in the binder" in text
    assert "can be opened by these keyholders: Lowfield shop." in " ".join(text.split())


def test_the_document_says_which_secrets_it_carries_and_for_whom(
    sealed_page: Callable[..., str],
) -> None:
    page = sealed_page("fibre PIN")
    assert "1 secret is sealed into this document for Priya Nandakumar" in " ".join(page.split())
    assert "kept by Priya Nandakumar, encrypted in the binder, sealed in this document" in page
    assert "kept by shop team, encrypted in the binder, sealed in this document" not in page
    assert "No password, PIN, key or recovery code is in this document" not in page


def test_the_file_is_for_its_owner_s_eyes_only(
    closet: BinderFile, envelope: Envelope, tmp_path: Path
) -> None:
    sealing = Sealing(envelope, choose(closet).secret_ids, "Priya Nandakumar", PASSPHRASE)
    (path,) = export(
        closet, "handoff", form="html", target=tmp_path / "out", today=TODAY, sealing=sealing
    )
    assert path.stat().st_mode & 0o077 == 0
    assert "canary" not in path.read_text("utf-8")


def test_the_log_tells_of_the_value_that_was_sealed(
    closet: BinderFile,
    envelope: Envelope,
    sealed_page: Callable[..., str],
    id_of: Callable[..., int],
) -> None:
    """A value changed meanwhile is not the one the recipient knows."""
    secret = id_of("secret fibre PIN")
    envelope.put(secret, SecretValue("canary 9912"))
    assert values(sealed_page("fibre PIN")) == {"fibre PIN": "canary 9912"}
    assert log_of_secret(closet, secret, limit=1)[0].version == 2
