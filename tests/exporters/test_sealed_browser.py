"""A sealed document in a real browser, from the disk and without network, as a client opens it."""

from __future__ import annotations

import http.server
import threading
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
import zxingcpp

from binder.envelope import wifi
from binder.envelope.opened import Envelope
from binder.envelope.sealed import unseal
from binder.envelope.secret_value import SecretValue
from binder.file import BinderFile
from exporters.export import export
from exporters.sealing import Sealing, choose
from tests.exporters.conftest import KEY, PASSPHRASE, PASSWORD, PIN, SEED, TODAY
from tests.system import needs

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

WRONG = "k7m2q-9xw4t-e0vzh-3ndps"
DID_NOT = "They did not open: wrong passphrase, or the file was altered."


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    from playwright.sync_api import sync_playwright

    chromium = needs("chromium", "chromium-browser")
    with sync_playwright() as playwright:
        # run as root in a container: its sandbox needs rights that are not given there
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture
def path(closet: BinderFile, envelope: Envelope, tmp_path: Path) -> Path:
    sealing = Sealing(envelope, choose(closet).secret_ids, "Priya Nandakumar", PASSPHRASE)
    return export(
        closet, "handoff", form="html", target=tmp_path, today=TODAY, sealing=sealing
    )[0]  # fmt: skip


class Sealed:
    """The page, what it asked for, and what it complained of."""

    def __init__(self, page: Page, address: str) -> None:
        self.page = page
        self.requests: list[str] = []
        self.complaints: list[str] = []
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("dialog", lambda dialog: self.complaints.append(dialog.message))
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.goto(address)

    def status(self) -> str:
        return self.page.inner_text("#sealed [role=status]")

    def open(self, passphrase: str = PASSPHRASE.expose()) -> None:
        self.page.fill("#sealed-passphrase", passphrase)
        self.page.press("#sealed-passphrase", "Enter")
        self.page.wait_for_selector("#sealed .secrets")

    def refused(self, passphrase: str) -> str:
        self.page.fill("#sealed-passphrase", passphrase)
        self.page.click("#sealed form button")
        self.page.wait_for_selector("#sealed form button:not([disabled])")
        return self.status()

    def show(self, name: str) -> None:
        self.page.click(f"#sealed [aria-label='Show {name}']")

    def shown(self) -> dict[str, str]:
        lines = self.page.locator("#sealed .secrets > li:has(.secret)")
        return {
            line.locator("strong").inner_text(): line.locator(".secret").inner_text()
            for line in lines.all()
        }


@pytest.fixture
def at(browser: Browser) -> Iterator[Callable[..., Sealed]]:
    contexts = []

    def at(address: str, width: int = 1280, moment: int | None = None, **options: object) -> Sealed:
        context = browser.new_context(viewport={"width": width, "height": 900}, **options)  # type: ignore[arg-type]
        contexts.append(context)
        page = context.new_page()
        if moment is not None:
            page.clock.install(time=moment)
        return Sealed(page, address)

    yield at
    for context in contexts:
        context.close()


@pytest.fixture
def sealed(at: Callable[..., Sealed], path: Path) -> Sealed:
    return at(path.as_uri())


def text_of(sealed: Sealed) -> str:
    return str(sealed.page.evaluate("document.documentElement.outerHTML"))


# Opening. ---------------------------------------------------------------------------------


def test_it_opens_with_the_passphrase_and_gives_what_unseal_gives(
    sealed: Sealed, path: Path
) -> None:
    assert sealed.status() == "They are sealed."
    sealed.open()
    assert "sealed for Priya Nandakumar on 2026-03-14" in sealed.status()
    sealed.page.click("text='Show all'")
    contents = unseal(path.read_text("utf-8"), PASSPHRASE)
    assert sealed.shown() == {s.name: s.value.expose() for s in contents.secrets}
    assert sealed.shown() == {
        "SW1 password": PASSWORD, "fibre PIN": PIN, "guest key": KEY, "portal code": SEED,
    }  # fmt: skip


def test_it_asks_the_network_for_nothing_and_runs_nothing_that_was_typed(
    sealed: Sealed, path: Path
) -> None:
    sealed.refused(WRONG)
    sealed.open()
    sealed.page.click("text='Show all'")
    assert PASSWORD in sealed.shown().values()  # a script and an image, as text
    assert sealed.page.locator("#sealed img, #sealed script").count() == 0
    assert sealed.requests == [path.as_uri()]
    assert sealed.complaints == []  # no dialog, no violation of the policy, no error


def test_another_passphrase_is_refused_and_the_next_one_opens(sealed: Sealed) -> None:
    for typed in (WRONG, WRONG.upper(), "x"):
        assert sealed.refused(typed) == DID_NOT
        assert "canary" not in text_of(sealed)
    sealed.open()


@pytest.mark.parametrize(
    ("typed", "sealed_with"),
    [
        (f"  {PASSPHRASE.expose()} ", PASSPHRASE.expose()),
        ("cafe\u0301 \uff11 au bord du lac", "caf\u00e9 1 au bord du lac"),
    ],
)
def test_a_passphrase_typed_on_another_keyboard_or_pasted_opens(
    closet: BinderFile,
    envelope: Envelope,
    at: Callable[..., Sealed],
    tmp_path: Path,
    typed: str,
    sealed_with: str,
) -> None:
    """NFKC (Unicode Standard Annex 15), as the browser has it and as Python has it."""
    chosen = choose(closet, ["fibre PIN"]).secret_ids
    sealing = Sealing(envelope, chosen, "Priya Nandakumar", SecretValue(sealed_with))
    (path,) = export(closet, "handoff", form="html", target=tmp_path, today=TODAY, sealing=sealing)
    at(path.as_uri()).open(typed)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ('"iterations":600000', '"iterations":600001'),
        ('"iterations":600000', '"iterations":599999'),
        ('"iterations":600000', '"iterations":4000000000'),
        ('"iterations":600000', '"iterations":600000.5'),
        ('"iterations":600000', '"iterations":6e5'),
        ('"format":1', '"format":2'),
        ('"format":1', ' "format":1'),
        ("SHA-256", "SHA-1"),
        ('"sealed":"', '"sealed":"AAAA'),
        ('"iv":"', '"iv":"!'),
    ],
)
def test_an_altered_file_is_refused_in_the_words_for_a_wrong_passphrase(
    at: Callable[..., Sealed], path: Path, before: str, after: str
) -> None:
    head, start, block = path.read_text("utf-8").partition('id="sealed-secrets">')
    assert before in block
    path.write_text(head + start + block.replace(before, after, 1), "utf-8")
    assert at(path.as_uri()).refused(PASSPHRASE.expose()) == DID_NOT


def test_where_a_browser_may_not_decrypt_the_page_says_so_plainly(
    at: Callable[..., Sealed], path: Path
) -> None:
    """W3C Secure Contexts: plain http from another machine is none, and has no WebCrypto."""
    handler = partial(Quiet, directory=str(path.parent))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        # a name that is not localhost, which a browser takes for safe
        address = f"http://quillmere.test:{server.server_port}/{path.name}"
        sealed = at(address, proxy={"server": f"http://127.0.0.1:{server.server_port}"})
        server.shutdown()
    assert sealed.page.evaluate("isSecureContext") is False
    assert "cannot be opened here" in sealed.status()
    assert "open it from there, in a current browser" in sealed.status()
    assert sealed.page.locator("#sealed-passphrase").count() == 0


class Quiet(http.server.SimpleHTTPRequestHandler):
    """Serves the folder, also to who asks as of a proxy."""

    def translate_path(self, path: str) -> str:
        return super().translate_path("/" + path.rpartition("/")[2])

    def log_message(self, format: str, *args: object) -> None:
        pass


def test_without_scripts_the_page_says_what_opens_them(
    at: Callable[..., Sealed], path: Path
) -> None:
    assert "binder unseal" in at(path.as_uri(), java_script_enabled=False).status()


# Showing and closing. ---------------------------------------------------------------------


def test_a_value_is_in_the_page_only_while_it_is_shown(sealed: Sealed) -> None:
    sealed.open()
    assert sealed.shown() == {}
    assert "canary" not in text_of(sealed)
    sealed.show("fibre PIN")
    assert sealed.shown() == {"fibre PIN": PIN}
    sealed.page.click("#sealed [aria-label='Hide fibre PIN']")
    assert "canary" not in text_of(sealed)


def test_each_secret_says_what_it_opens(sealed: Sealed) -> None:
    sealed.open()
    line = sealed.page.locator("#sealed .secrets > li", has_text="SW1 password")
    assert "password, SW1 / admin" in line.inner_text()


def test_it_closes_on_request_and_opens_again(sealed: Sealed) -> None:
    sealed.open()
    sealed.page.click("text='Show all'")
    sealed.page.click("text='Close'")
    assert sealed.status() == "Closed."
    assert "canary" not in text_of(sealed)
    assert sealed.page.input_value("#sealed-passphrase") == ""
    sealed.open()


def test_it_closes_by_itself_when_nobody_touches_the_page(
    at: Callable[..., Sealed], path: Path
) -> None:
    sealed = at(path.as_uri(), moment=1_773_480_000)
    sealed.open()
    sealed.show("fibre PIN")
    sealed.page.clock.run_for(280_000)
    assert sealed.shown() == {"fibre PIN": PIN}
    sealed.page.mouse.move(10, 10)
    sealed.page.clock.run_for(280_000)
    assert sealed.shown() == {"fibre PIN": PIN}  # it was touched
    sealed.page.clock.run_for(30_000)
    assert "nobody touched the page for 5 minutes" in sealed.status()
    assert "canary" not in text_of(sealed)


def test_it_is_closed_when_one_comes_back_to_the_page(sealed: Sealed) -> None:
    sealed.open()
    sealed.show("fibre PIN")
    sealed.page.evaluate("dispatchEvent(new PageTransitionEvent('pagehide', {persisted: true}))")
    assert "canary" not in text_of(sealed)


def test_it_prints_what_is_shown_and_nothing_else_of_it(sealed: Sealed) -> None:
    sealed.page.emulate_media(media="print")
    assert not sealed.page.is_visible("#sealed")
    sealed.page.emulate_media(media="screen")
    sealed.open()
    sealed.show("fibre PIN")
    sealed.page.emulate_media(media="print")
    printed = sealed.page.inner_text("#sealed")
    assert printed.split("\n") == ["fibre PIN", "PIN, fibre", PIN]


# Codes, one-time and QR. ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("moment", "code"),
    [
        (59, "94287082"),
        (1111111109, "07081804"),
        (1111111111, "14050471"),
        (1234567890, "89005924"),
        (2000000000, "69279037"),
        (20000000000, "65353130"),
    ],
)
def test_one_time_codes_are_those_of_rfc_6238(
    at: Callable[..., Sealed], path: Path, moment: int, code: str
) -> None:
    """Appendix B, the column of SHA-1."""
    sealed = at(path.as_uri(), moment=moment)
    sealed.open()
    sealed.show("portal code")
    sealed.page.wait_for_selector("#sealed .code:not(:empty)")
    left = 30 - moment % 30
    shown = sealed.page.inner_text("#sealed .code")
    assert shown.startswith(f"{code} (")
    assert shown in (f"{code} ({left} s left)", f"{code} ({left - 1} s left)")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_the_qr_code_on_the_screen_is_read_by_another_decoder(
    at: Callable[..., Sealed], path: Path, width: int, scheme: str
) -> None:
    """From a screenshot, by zxing-cpp."""
    sealed = at(path.as_uri(), width=width, color_scheme=scheme)
    sealed.open()
    sealed.show("guest key")
    seen = _grey(sealed.page.locator("#sealed .qr").screenshot())
    (found,) = zxingcpp.read_barcodes(seen)
    joined = wifi.join_text("Quillmere Guest", SecretValue(KEY))
    assert found.text == joined.expose()
    side = wifi.qr_code(joined).symbol_size(border=4)[0]
    quiet = int(seen.shape[0] / side * 4) - 3
    seen = seen[2:-2, 2:-2]  # its rim is blended with the page
    for edge in (seen[:quiet], seen[-quiet:], seen[:, :quiet], seen[:, -quiet:]):
        assert edge.min() > 200  # four modules stay light (ISO/IEC 18004)


def _grey(png: bytes) -> np.ndarray:
    import io

    from PIL import Image

    return np.array(Image.open(io.BytesIO(png)).convert("L"))


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_the_open_secrets_never_scroll_the_page_sideways(
    at: Callable[..., Sealed], path: Path, width: int
) -> None:
    """WCAG 2.2, success criterion 1.4.10 (reflow): 320 CSS pixels."""
    sealed = at(path.as_uri(), width=width)
    sealed.open()
    sealed.page.click("text='Show all'")
    assert sealed.page.evaluate("document.documentElement.scrollWidth") <= width
