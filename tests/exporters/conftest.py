"""Documents of the closet in tests/conftest.py, as of the 14th of March 2026."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from binder.envelope.keys import weak_work_for_tests
from binder.envelope.opened import Envelope, create_envelope
from binder.envelope.secret_value import SecretValue
from binder.file import BinderFile
from binder.read import resolve
from exporters.export import render

TODAY = date(2026, 3, 14)
STEM = "quillmere-veterinary-clinic-handoff-draft"
PASSPHRASE = SecretValue("k7m2q-9xw4t-e0vzh-3ndpr")  # of a sealed document
PASSWORD = 'canary<script>alert(1)</script>"><img src=x onerror=alert(1)>'
PIN, KEY = "canary 4471", "canary;moss,lantern"
# the seed of RFC 6238, appendix B, for SHA-1
SEED = "otpauth://totp/canary?secret=GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ&digits=8"


@pytest.fixture
def section(binder: BinderFile) -> Callable[[str], str]:
    """`section("circuits")`: that section of the handoff as Markdown, as the binder is now."""

    def section(name: str) -> str:
        files = render(binder, "handoff", form="markdown", today=TODAY)
        return next(text for path, text in files.items() if path.endswith(f"-{name}.md"))

    return section


@pytest.fixture
def page_text(binder: BinderFile) -> Callable[[], str]:
    """The handoff as one page, as the binder is now."""
    return lambda: render(binder, "handoff", form="html", today=TODAY)[f"{STEM}.html"]


@pytest.fixture
def envelope(closet: BinderFile, add: Callable[..., int]) -> Envelope:
    """The closet with an open envelope and five secrets, of which one has no value yet."""
    envelope = create_envelope(
        closet, "Lowfield shop", SecretValue("kettle ladder moonrise"), who="M. Osei",
        work=weak_work_for_tests(),
    )  # fmt: skip
    for name, form, owner, kept_by, value in (
        ("SW1 password", "password", "account SW1 / admin", "shop team", PASSWORD),
        ("fibre PIN", "PIN", "circuit fibre", "Priya Nandakumar", PIN),
        ("guest key", "pre-shared key", "ssid Quillmere Guest", "front desk", KEY),
        ("portal code", "one-time-code seed", "circuit fibre", "", SEED),
        ("cellular PIN", "PIN", "circuit cellular", "shop team", ""),
    ):
        owner_id = resolve(closet, owner).id
        secret = add("secret", identifier=name, form=form, belongs_to=owner_id, kept_by=kept_by)
        if value:
            envelope.put(secret, SecretValue(value))
    return envelope
