"""Attachments: photos, test reports and drawings whose bytes are kept in the binder.

A photo is made smaller and loses everything but its picture: cameras write into it where it was
taken. Bytes are kept once, under their SHA-256, however many records name them.
"""

from __future__ import annotations

import hashlib
import io
import json
import mimetypes
import os
import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from binder.edit import Editor
from binder.errors import FileError, RequestError
from binder.file import BinderFile
from binder.identifiers import natural_key
from binder.read import Record, read, read_where
from binder.records.catalog import BY_NAME

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_BYTES: Final = 20 * 2**20  # of one file; a binder is one file that is copied whole
MOST_PIXELS: Final = 100_000_000  # of a photo that is opened to be made smaller
LONGEST_SIDE_PX: Final = 2000  # enough to read a label on a rack
_QUALITY: Final = 82
SHOWN: Final = ("fitting", "all", "none")  # which photos a document shows
MOST_SHOWN_BYTES: Final = 8 * 2**20  # of photos in one document, where those that fit are asked for
_PHOTOS: Final = {
    "JPEG": "image/jpeg",
    "PNG": "image/png",
    "WEBP": "image/webp",
    "MPO": "image/jpeg",
}
_DATE_TAKEN: Final = (36867, 306)  # DateTimeOriginal, DateTime (Exif 2.3, 4.6.5 and 4.6.4)
# Names that some systems take for devices, whatever follows the dot.
_DEVICES: Final = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.IGNORECASE)
_UNSAFE: Final = re.compile(
    r'[\x00-\x1f\x7f-\x9f<>:"/\\|?*\u200b-\u200f\u202a-\u202e\u2066-\u2069]'
)


@dataclass(frozen=True, slots=True)
class Attached:
    """An attachment. `is_here` says that its bytes are in the binder, `size_bytes` how many;
    `subject` is what it is of, '' for none."""

    id: int
    title: str
    form: str
    subject: str
    file_name: str
    media_type: str
    size_bytes: int
    sha256: str
    taken_on: str
    kept_at: str
    is_here: bool


@dataclass(frozen=True, slots=True)
class Prepared:
    """A file as it is going to be kept."""

    data: bytes
    file_name: str
    media_type: str
    form: str
    taken_on: str
    sha256: str


def prepare(path: Path) -> Prepared:
    """Read a file, and make it what is kept of it.

    Raises FileError when it cannot be read, RequestError when it is too large, empty, or a photo
    that is none.
    """
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):  # a pipe would be waited for, a device read for ever
            raise FileError(f"{path}: is a folder, a pipe or a device; only a file can be kept")
        size = status.st_size
        if size > MOST_BYTES:
            raise RequestError(
                f"{path.name} has {size / 2**20:.1f} MiB; at most {MOST_BYTES // 2**20} MiB go "
                "into a binder: keep it elsewhere, and add an attachment that says where"
            )
        data = path.read_bytes()
    except OSError as error:
        raise FileError(f"{path}: cannot be read: {error.strerror}") from error
    if not data:
        raise RequestError(f"{path.name} is empty")
    media_type = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    if media_type in ("image/jpeg", "image/png", "image/webp"):
        return _photo(path.name, data)
    form = "test report" if media_type == "application/pdf" else "other"
    digest = hashlib.sha256(data).hexdigest()
    return Prepared(data, safe_name(path.name), media_type, form, "", digest)


def _photo(name: str, data: bytes) -> Prepared:
    from PIL import Image, ImageOps, UnidentifiedImageError

    Image.MAX_IMAGE_PIXELS = MOST_PIXELS
    try:
        with Image.open(io.BytesIO(data)) as opened:
            if opened.format not in _PHOTOS or opened.width * opened.height > MOST_PIXELS:
                raise RequestError(f"{name}: no photo that can be kept; JPEG, PNG and WebP can")
            taken_on = _taken_on(opened)
            turned = ImageOps.exif_transpose(opened)
            turned.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
            data, media_type = _bare(turned)
    except (UnidentifiedImageError, OSError, ValueError, Image.DecompressionBombError) as error:
        raise RequestError(f"{name}: it is called a photo and cannot be read as one") from error
    stem = safe_name(name).rpartition(".")[0] or "photo"
    suffix = ".png" if media_type == "image/png" else ".jpg"
    digest = hashlib.sha256(data).hexdigest()
    return Prepared(data, stem + suffix, media_type, "photo", taken_on, digest)


def _bare(picture: Image) -> tuple[bytes, str]:
    """The picture and nothing else: pixels drawn anew onto an empty one."""
    from PIL import Image

    transparent = picture.mode in ("RGBA", "LA", "P")
    mode = "RGBA" if transparent else "RGB"
    clean = Image.new(mode, picture.size)
    clean.paste(picture.convert(mode))
    out = io.BytesIO()
    if transparent:
        clean.save(out, "PNG", optimize=True)
        return out.getvalue(), "image/png"
    clean.save(out, "JPEG", quality=_QUALITY, optimize=True)
    return out.getvalue(), "image/jpeg"


def _taken_on(picture: Image) -> str:
    exif = picture.getexif()
    held = {**exif, **exif.get_ifd(0x8769)}
    for tag in _DATE_TAKEN:
        found = re.match(r"([0-9]{4}):([0-9]{2}):([0-9]{2})", str(held.get(tag, "")))
        if found:
            return "-".join(found.groups())
    return ""


def attach(
    editor: Editor,
    prepared: Prepared,
    title: str,
    *,
    subject_id: int | None = None,
    form: str = "",
    taken_on: str = "",
) -> int:
    """Keep a file as an attachment, in one step; gives the record's id.

    Raises FaultsError for a form that there is not, RequestError for a title that is taken.
    """
    with editor.step(f"attach {title}") as step:
        step.keep_content(prepared.sha256, prepared.data)
        return step.add(
            "attachment",
            {
                "identifier": title, "subject": subject_id, "form": form or prepared.form,
                "file_name": prepared.file_name, "media_type": prepared.media_type,
                "size_bytes": len(prepared.data), "sha256": prepared.sha256,
                "taken_on": taken_on or prepared.taken_on or None,
            },
        )  # fmt: skip


def attachments(binder: BinderFile) -> tuple[Attached, ...]:
    """Every attachment, by title."""
    here = {row[0] for row in binder.connection.execute("SELECT sha256 FROM content")}
    subjects = dict(
        tuple(row)
        for row in binder.connection.execute(
            "SELECT a.id, r.name FROM attachment a JOIN record r ON r.id = a.subject_id"
        )
    )
    found = read_where(binder, BY_NAME["attachment"], "t.status <> 'former'")
    told = (_attached(record, here, subjects) for record in found)
    return tuple(sorted(told, key=lambda one: natural_key(one.title)))


def content_of(binder: BinderFile, attachment_id: int) -> bytes:
    """The bytes of an attachment. Raises RequestError when they are kept elsewhere."""
    record = read(binder, attachment_id)
    if record.kind.name != "attachment":
        raise RequestError(f"'{record.name}' is no attachment")
    row = binder.connection.execute(
        "SELECT bytes FROM content WHERE sha256 = ?", (record["sha256"],)
    ).fetchone()
    if row is None:
        where = f"kept at {record['kept_at']}" if record["kept_at"] else "not recorded where"
        raise RequestError(f"the bytes of '{record.name}' are not in this binder: {where}")
    return bytes(row[0])


def photos_shown(binder: BinderFile, which: str) -> dict[str, bytes]:
    """The photos a document shows, by SHA-256, each once.

    'fitting': as many, by title, as have MOST_SHOWN_BYTES together; 'all'; 'none'. Raises
    RequestError for another word.
    """
    if which not in SHOWN:
        raise RequestError(
            f"no choice of photos is called '{which}'; there are: {', '.join(SHOWN)}"
        )
    if which == "none":
        return {}
    rows = binder.connection.execute(
        "SELECT DISTINCT c.sha256, length(c.bytes), r.name FROM attachment a "
        "JOIN content c ON c.sha256 = a.sha256 JOIN record r ON r.id = a.id "
        "WHERE a.form = 'photo' AND a.status <> 'former' "
        "AND a.media_type IN ('image/jpeg', 'image/png')"
    ).fetchall()
    wanted: dict[str, int] = {}
    for sha256, size, _ in sorted(rows, key=lambda row: natural_key(row[2])):
        together = sum(wanted.values()) + (0 if sha256 in wanted else size)
        if which == "all" or together <= MOST_SHOWN_BYTES:
            wanted[sha256] = size
    found = binder.connection.execute(
        "SELECT sha256, bytes FROM content WHERE sha256 IN (SELECT value FROM json_each(?))",
        (json.dumps(list(wanted)),),
    )
    return {row[0]: bytes(row[1]) for row in found}


def extract(binder: BinderFile, attachment_id: int, folder: Path) -> Path:
    """Write an attachment into a folder under a name that is safe; gives the path.

    No file is ever replaced: a number follows the name instead. Raises RequestError as
    `content_of` does, and FileError when it cannot be written.
    """
    data = content_of(binder, attachment_id)
    name = safe_name(read(binder, attachment_id)["file_name"] or "attachment")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path in _names(folder, name):
            try:
                handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
            except FileExistsError:
                continue
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            return path
    except OSError as error:
        raise FileError(f"{folder}: cannot be written: {error.strerror}") from error
    raise FileError(f"{folder}: too many files are called {name}")


def _names(folder: Path, name: str) -> Iterator[Path]:
    stem, dot, suffix = name.rpartition(".")
    for number in range(1, 1000):
        beside = f"-{number}" if number > 1 else ""
        yield folder / (f"{stem}{beside}.{suffix}" if dot else f"{suffix}{beside}")


def safe_name(name: str) -> str:
    """A file name that leads nowhere and surprises nobody: no path, no device, nothing hidden."""
    bare = re.split(r"[/\\]", name)[-1]
    clean = _UNSAFE.sub("_", bare).strip(" .")[:120].strip(" .")
    if not clean or _DEVICES.fullmatch(clean):
        return f"file_{clean}" if clean else "file"
    return clean


def _attached(record: Record, here: set[str], subjects: dict[int, str]) -> Attached:
    return Attached(
        record.id, record.name, record["form"], subjects.get(record.id, ""),
        record["file_name"] or "", record["media_type"] or "", record["size_bytes"] or 0,
        record["sha256"] or "", record["taken_on"] or "", record["kept_at"] or "",
        record["sha256"] in here,
    )  # fmt: skip
