"""Photos and reports in the binder: small, without where they were taken, under safe names.

That photos carry positions: Exif 2.3 (CIPA DC-008), GPS attribute information. Safe file names:
common practice, no published source.
"""

from __future__ import annotations

import io
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from binder.attachments import (
    LONGEST_SIDE_PX,
    MOST_BYTES,
    attach,
    attachments,
    content_of,
    extract,
    prepare,
    safe_name,
)
from binder.edit import Editor
from binder.errors import FileError, RequestError
from binder.file import BinderFile
from binder.verify import verify

_GPS, _TAKEN, _TURNED, _EXIF = 0x8825, 36867, 274, 0x8769


def photo(path: Path, size: tuple[int, int] = (3000, 1500), *, turned: int = 1) -> Path:
    """A photo as a telephone writes it: taken on a day, somewhere, held somehow."""
    picture = Image.effect_noise(size, 60).convert("RGB")
    exif = picture.getexif()
    exif[_TURNED] = turned
    exif.get_ifd(_EXIF)[_TAKEN] = "2026:03:14 09:40:00"
    exif.get_ifd(_GPS).update({1: "N", 2: (41.0, 52.0, 0.0), 3: "W", 4: (87.0, 38.0, 0.0)})
    picture.save(path, "JPEG", exif=exif)
    return path


def test_a_photo_is_made_smaller_and_says_no_more_where_it_was_taken(tmp_path: Path) -> None:
    kept = prepare(photo(tmp_path / "front.jpg"))
    with Image.open(io.BytesIO(kept.data)) as picture:
        assert max(picture.size) == LONGEST_SIDE_PX
        assert dict(picture.getexif()) == {}
        assert not set(picture.info) & {"exif", "xmp", "comment", "photoshop"}
    assert (kept.taken_on, kept.form) == ("2026-03-14", "photo")


def test_a_photo_stands_as_it_was_held(tmp_path: Path) -> None:
    """Orientation 6: the camera was turned a quarter (Exif 2.3, 4.6.4)."""
    kept = prepare(photo(tmp_path / "front.jpg", (400, 200), turned=6))
    with Image.open(io.BytesIO(kept.data)) as picture:
        assert picture.size == (200, 400)


def test_what_is_no_photo_is_refused_in_one_line(tmp_path: Path) -> None:
    false = tmp_path / "front.jpg"
    false.write_bytes(b"<script>alert(1)</script>")
    with pytest.raises(RequestError, match="cannot be read as one"):
        prepare(false)
    with pytest.raises(FileError, match="cannot be read"):
        prepare(tmp_path / "nowhere.jpg")


def test_a_file_that_is_too_large_is_refused_with_what_to_do(tmp_path: Path) -> None:
    large = tmp_path / "large.pdf"
    with large.open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    with pytest.raises(RequestError, match="keep it elsewhere"):
        prepare(large)


def test_bytes_are_kept_once_and_come_out_as_they_went_in(
    closet: BinderFile, editor: Editor, tmp_path: Path, id_of: Callable[[str], int]
) -> None:
    report = tmp_path / "report.pdf"
    report.write_bytes(b"%PDF-1.7 tests of 1A-A")
    first = attach(editor, prepare(report), "tests of 1A-A", subject_id=id_of("1A-A"))
    attach(editor, prepare(report), "the same again")
    assert closet.connection.execute("SELECT count(*) FROM content").fetchone()[0] == 1
    assert content_of(closet, first) == report.read_bytes()
    told = {one.title: (one.subject, one.is_here) for one in attachments(closet)}
    assert told == {"tests of 1A-A": ("1A-A", True), "the same again": ("", True)}
    assert verify(closet) == ()


def test_undo_takes_an_attachment_back(closet: BinderFile, editor: Editor, tmp_path: Path) -> None:
    attach(editor, prepare(photo(tmp_path / "a.jpg", (40, 20))), "a")
    editor.undo()
    assert attachments(closet) == ()
    editor.redo()
    assert attachments(closet)[0].is_here


def test_no_file_is_ever_replaced(closet: BinderFile, editor: Editor, tmp_path: Path) -> None:
    report = tmp_path / "report.pdf"
    report.write_bytes(b"%PDF-1.7")
    kept = attach(editor, prepare(report), "report")
    out = tmp_path / "out"
    written = [extract(closet, kept, out).name for _ in range(3)]
    assert written == ["report.pdf", "report-2.pdf", "report-3.pdf"]
    assert os.stat(out / "report.pdf").st_mode & 0o777 == 0o600


def test_what_is_kept_elsewhere_says_where(closet: BinderFile, add: Callable[..., int]) -> None:
    drawing = add("attachment", identifier="T1", form="drawing", kept_at="shop folder 12")
    with pytest.raises(RequestError, match="kept at shop folder 12"):
        content_of(closet, drawing)


@pytest.mark.parametrize(
    ("typed", "safe"),
    [
        ("../../etc/passwd", "passwd"), ("C:\\Windows\\a.exe", "a.exe"), (".bashrc", "bashrc"),
        ("CON", "file_CON"), ("lpt1.txt", "file_lpt1.txt"), ("", "file"), ("a\nb.jpg", "a_b.jpg"),
        ("x\u202egpj.exe", "x_gpj.exe"), ("front.jpg", "front.jpg"),
    ],
)  # fmt: skip
def test_a_name_leads_nowhere(typed: str, safe: str) -> None:
    assert safe_name(typed) == safe


@given(st.text(max_size=300))
def test_every_name_is_one_plain_file(typed: str) -> None:
    safe = safe_name(typed)
    assert safe
    assert len(safe) <= 130
    assert Path(safe).name == safe
    assert not safe.startswith(".")


@pytest.mark.parametrize("make", [os.mkfifo, os.mkdir])
def test_only_a_file_is_kept(tmp_path: Path, make: Callable[[Path], None]) -> None:
    """Whoever reads a pipe waits until somebody writes into it."""
    make(tmp_path / "front.jpg")
    with pytest.raises(FileError, match="only a file can be kept"):
        prepare(tmp_path / "front.jpg")
