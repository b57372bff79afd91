"""The PDF: bookmarks, page numbers and running titles, on either paper, the same bytes each time.

Read back by poppler's pdftotext and pdfinfo, which had no part in making it.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.errors import RequestError
from binder.file import BinderFile
from exporters.export import export, is_as_released, release
from exporters.house import Look
from tests.exporters.conftest import TODAY
from tests.system import needs, needs_weasyprint


@pytest.fixture(scope="module", autouse=True)
def _weasyprint() -> None:
    needs_weasyprint()


def read(command: str, path: Path, *options: str) -> str:
    """What a program of poppler says of a PDF."""
    words = [needs(command), *options, str(path), *(["-"] if command == "pdftotext" else [])]
    return subprocess.run(words, capture_output=True, text=True, check=True).stdout


@pytest.fixture
def made(closet: BinderFile, change: Callable[..., None], tmp_path: Path) -> Path:
    change("client Quillmere Veterinary Clinic", identifier='"; } </style> Vet \\ Clinic')
    return export(closet, "handoff", form="pdf", target=tmp_path, today=TODAY)[0]


def test_each_page_says_whose_it_is_which_document_and_that_it_is_a_draft(made: Path) -> None:
    pages = read("pdftotext", made, "-layout").split("\f")[:-1]
    assert len(pages) > 5
    for number, text in enumerate(pages, start=1):
        assert f"Page {number} of {len(pages)}" in text
        assert "DRAFT, not issued" in text
        assert '"; } </style> Vet \\ Clinic' in text
        assert "Handoff binder" in text


def test_sections_stand_in_the_order_of_the_contents(made: Path) -> None:
    text = read("pdftotext", made, "-layout")
    headings = ["Cautions", "Client and contacts", "Carrier circuits", "Rack elevations", "Power",
                "Acceptance"]  # fmt: skip
    pattern = rf"^ *[0-9]+\. ({'|'.join(headings)})$"
    assert re.findall(pattern, text, re.MULTILINE) == headings


def test_sections_and_their_parts_are_bookmarks(made: Path) -> None:
    from pypdf import PdfReader

    outline = PdfReader(made).outline
    titles = [entry.title for entry in outline if not isinstance(entry, list)]
    assert any(title.endswith("Carrier circuits") for title in titles)
    parts = [part.title for entry in outline if isinstance(entry, list) for part in entry]
    assert "Active equipment" in parts


_WORD = re.compile(
    r'<word xMin="([0-9.-]+)" yMin="([0-9.-]+)" xMax="([0-9.-]+)" yMax="([0-9.-]+)">(.*?)</word>'
)
_TOUCH_PT = 0.5  # what letters lean into each other
_LINE_PT = 2.5  # what lines of text do


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_word_stands_on_another_nor_beyond_the_margin(
    closet: BinderFile, change: Callable[..., None], tmp_path: Path, paper: str
) -> None:
    """Common practice, no published source. With a name as long as it may be, without a blank, and
    port labels as wide as their boxes."""
    change("hardware SW1", description="H" * 200)
    for number in range(1, 5):
        change(f"port SW1:{number:02d}", label=f"WAN{number}")
    path = export(closet, "handoff", form="pdf", target=tmp_path, today=TODAY,
                  look=Look(paper=paper))[0]  # fmt: skip
    for page in read("pdftotext", path, "-bbox").split("<page ")[1:]:
        wide = float(re.findall(r'width="([0-9.]+)"', page)[0])
        words = [(*map(float, box), word) for *box, word in _WORD.findall(page)]
        words.sort(key=lambda word: word[1])
        for at, (left, top, right, bottom, word) in enumerate(words):
            assert right < wide - 28, word  # of 15 mm, 10 at least
            for left_2, top_2, right_2, bottom_2, other in words[at + 1 :]:
                if top_2 >= bottom:
                    break
                beside = min(right, right_2) - max(left, left_2)
                below = min(bottom, bottom_2) - max(top, top_2)
                assert beside < _TOUCH_PT or below < _LINE_PT, (word, other)


@pytest.mark.parametrize(("paper", "size"), [("a4", "595.276 x 841.89"), ("letter", "612 x 792")])
def test_it_is_made_for_either_paper(
    closet: BinderFile, tmp_path: Path, paper: str, size: str
) -> None:
    """A4: ISO 216, 210 x 297 mm. Letter: 8.5 x 11 in. In points of 1/72 in."""
    path = export(
        closet, "door sheet", form="pdf", target=tmp_path, today=TODAY, look=Look(paper=paper)
    )[0]
    said = read("pdfinfo", path)
    assert f"{size} pts" in said
    assert re.search(r"Pages: +1\n", said)  # the door's sheet is one page of either


def test_the_paper_is_the_client_s_if_none_is_asked_for(
    closet: BinderFile, tmp_path: Path, change: Callable[..., None]
) -> None:
    sizes = []
    for system in ("us", "metric"):
        change("client Quillmere Veterinary Clinic", unit_system=system)
        made = export(closet, "punch list", form="pdf", target=tmp_path, today=TODAY)[0]
        sizes.append(re.findall(r"\((\w+)\)", read("pdfinfo", made))[0])
    assert sizes == ["letter", "A4"]


_AGAIN = """
import sys
from datetime import date
from pathlib import Path
from binder.file import open_binder
from exporters.export import export
with open_binder(Path(sys.argv[1]), read_only=True) as binder:
    export(binder, "punch list", form="pdf", target=Path(sys.argv[2]), today=date(2026, 3, 14))
"""


def test_the_same_binder_and_day_give_the_same_bytes_in_another_process(
    closet: BinderFile, tmp_path: Path
) -> None:
    """Nor does the order of Python's sets, which differs between processes, show."""
    first = export(closet, "punch list", form="pdf", target=tmp_path / "here", today=TODAY)[0]
    command = [sys.executable, "-c", _AGAIN, str(closet.path), str(tmp_path / "there")]
    subprocess.run(command, check=True)
    assert (tmp_path / "there" / first.name).read_bytes() == first.read_bytes()
    assert "CreationDate" not in read("pdfinfo", first)


def test_an_issue_made_again_has_its_digest(
    closet: BinderFile, editor: Editor, tmp_path: Path
) -> None:
    release(editor, "punch list", form="pdf", target=tmp_path / "1", today=TODAY, issued_to="Ann")
    again = export(closet, "punch list", form="pdf", target=tmp_path / "2", today=TODAY, issue=1)
    assert is_as_released(closet, "punch list", 1, again)
    assert "DRAFT" not in read("pdftotext", again[0])


def test_without_the_extra_one_line_says_which(
    closet: BinderFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)  # as if it were not installed
    with pytest.raises(RequestError, match=r"pip install 'handoff-binder\[pdf\]'") as told:
        export(closet, "punch list", form="pdf", target=tmp_path, today=TODAY)
    assert "\n" not in str(told.value)
    assert list(tmp_path.glob("*.pdf")) == []
