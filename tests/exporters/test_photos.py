"""Photos are shown in the document, within the page and beside the Markdown; reports are listed.

GSA P100 ("Turnover Documents") and the photographs of record drawings (WSU design guide, 5.3.2).
"""

from __future__ import annotations

import base64
import re
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from binder import attachments
from binder.attachments import attach, photos_shown, prepare
from binder.edit import Editor
from binder.errors import RequestError
from binder.file import BinderFile
from exporters.documents import Options
from exporters.export import export, render
from tests.exporters.conftest import STEM, TODAY
from tests.exporters.reading import PAYLOADS, page

REPORT = b"%PDF-1.4 as the tester wrote it"


@pytest.fixture
def pictured(
    closet: BinderFile, editor: Editor, tmp_path: Path, id_of: Callable[[str], int]
) -> BinderFile:
    """The closet with a photo of its rack, one of the demarc, and a test report."""
    for number, title in enumerate(("rack 1A-R1, front", "demarc ](x) in 1E")):
        path = tmp_path / f"{number}.jpg"
        Image.new("RGB", (60, 40), (200, 30 * number, 40)).save(path)
        attach(editor, prepare(path), title, subject_id=id_of("rack 1A-R1"), taken_on="2026-03-01")
    (tmp_path / "report.pdf").write_bytes(REPORT)
    attach(editor, prepare(tmp_path / "report.pdf"), "test report")
    return closet


def shown(binder: BinderFile, form: str, which: str = "") -> dict[str, str | bytes]:
    return render(
        binder, "handoff", form=form, today=TODAY, options=Options(with_attachments=which)
    )


def images(html: str) -> list[dict[str, str]]:
    return [dict(element.attrib) for element in page(html).iter("img")]


def test_photos_stand_in_the_page_itself(pictured: BinderFile) -> None:
    html = str(shown(pictured, "html")[f"{STEM}.html"])
    found = images(html)
    assert [image["alt"] for image in found] == ["demarc ](x) in 1E", "rack 1A-R1, front"]
    for image in found:
        head, _, data = image["src"].partition(",")
        assert head == "data:image/jpeg;base64"
        with Image.open(BytesIO(base64.b64decode(data))) as picture:
            assert picture.size == (60, 40)


def test_photos_lie_beside_the_markdown_that_names_them(
    pictured: BinderFile, tmp_path: Path
) -> None:
    written = export(pictured, "handoff", form="markdown", target=tmp_path, today=TODAY)
    text = next(path for path in written if path.name.endswith("-attachments.md")).read_text()
    named = re.findall(r"\]\((photos/[^)]+)\)", text)
    assert len(named) == 2
    for path in named:
        with Image.open(tmp_path / STEM / path) as picture:
            assert picture.format == "JPEG"


def test_a_report_is_listed_with_its_digest_and_not_shown(pictured: BinderFile) -> None:
    import hashlib

    files = shown(pictured, "markdown")
    text = next(str(text) for path, text in files.items() if path.endswith("-attachments.md"))
    assert hashlib.sha256(REPORT).hexdigest() in text
    assert "in the binder" in text
    assert not any(path.endswith(".pdf") for path in files)


def test_photos_can_be_left_out_and_the_document_says_so(pictured: BinderFile) -> None:
    files = shown(pictured, "markdown", "none")
    assert not any(isinstance(data, bytes) for data in files.values())
    text = next(str(text) for path, text in files.items() if path.endswith("-attachments.md"))
    assert "Not shown: 2 photos that the binder holds" in text


def test_photos_beyond_the_room_for_them_are_left_out_unless_all_are_wanted(
    pictured: BinderFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    largest = max(map(len, photos_shown(pictured, "all").values()))
    monkeypatch.setattr(attachments, "MOST_SHOWN_BYTES", largest)
    assert len(photos_shown(pictured, "fitting")) == 1
    assert len(photos_shown(pictured, "all")) == 2
    with pytest.raises(RequestError, match="there are: fitting, all, none"):
        photos_shown(pictured, "some")


@pytest.mark.parametrize("title", [title for title in PAYLOADS if title.strip()])
def test_no_title_makes_a_picture_of_its_own(
    closet: BinderFile, editor: Editor, tmp_path: Path, title: str
) -> None:
    Image.new("RGB", (8, 8)).save(tmp_path / "p.png")
    attach(editor, prepare(tmp_path / "p.png"), title)
    found = images(str(shown(closet, "html")[f"{STEM}.html"]))
    assert len(found) == 1
    assert found[0]["src"].startswith("data:image/")
    assert set(found[0]) == {"class", "alt", "src"}
