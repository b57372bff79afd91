"""Writing documents: whole files or none, the same bytes each time, one line when it cannot be."""

from __future__ import annotations

import gc
from collections.abc import Callable
from pathlib import Path

import pytest

from binder.errors import FileError, RequestError
from binder.file import BinderFile
from exporters import export as exporting
from exporters.export import export, render
from tests.exporters.conftest import STEM, TODAY


@pytest.mark.parametrize("form", ["markdown", "html"])
def test_the_same_binder_and_day_give_the_same_bytes(
    closet: BinderFile, tmp_path: Path, form: str
) -> None:
    written = [
        [path.read_bytes() for path in export(closet, "handoff", form=form, target=tmp_path / name,
                                              today=TODAY)]
        for name in ("one", "two")
    ]  # fmt: skip
    assert written[0] == written[1]


def test_markdown_is_a_folder_whose_first_file_is_the_cover(
    closet: BinderFile, tmp_path: Path
) -> None:
    written = export(closet, "handoff", form="markdown", target=tmp_path, today=TODAY)
    assert written[0] == tmp_path / STEM / "00-cover.md"
    assert sorted(p.name for p in written) == sorted(p.name for p in (tmp_path / STEM).iterdir())
    assert all(path.read_text("utf-8").endswith("\n") for path in written)


def test_html_is_one_file(closet: BinderFile, tmp_path: Path) -> None:
    written = export(closet, "handoff", form="html", target=tmp_path, today=TODAY)
    name = "quillmere-veterinary-clinic-handoff-draft.html"
    assert written == (tmp_path / name,)


@pytest.mark.parametrize("name", ["../../etc/passwd", "Ünïcode 北", ".", "a/b\\c", "CON"])
def test_a_client_s_name_never_leads_out_of_the_folder(
    tmp_path: Path, closet: BinderFile, change: Callable[..., None], name: str
) -> None:
    change("client Quillmere Veterinary Clinic", short_name=name)
    target = tmp_path / "out"
    (written,) = export(closet, "handoff", form="html", target=target, today=TODAY)
    assert written.parent == target
    assert list(target.iterdir()) == [written]


def test_an_earlier_file_stays_whole_when_writing_fails(
    closet: BinderFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (written,) = export(closet, "handoff", form="html", target=tmp_path / "out", today=TODAY)
    before = written.read_bytes()

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(exporting.os, "fsync", full)
    with pytest.raises(FileError, match="No space left on device"):
        export(closet, "handoff", form="html", target=tmp_path / "out", today=TODAY)
    assert written.read_bytes() == before
    assert list((tmp_path / "out").iterdir()) == [written]


def test_a_folder_that_cannot_be_made_is_told_in_one_line(
    closet: BinderFile, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(FileError, match="cannot be written") as told:
        export(closet, "handoff", form="html", target=tmp_path / "file", today=TODAY)
    assert "\n" not in str(told.value)


def test_what_cannot_be_asked_for_is_refused_with_what_can(closet: BinderFile) -> None:
    with pytest.raises(RequestError, match="no document is called 'poem'; there are: handoff"):
        render(closet, "poem", form="html", today=TODAY)
    with pytest.raises(RequestError, match="form of the handoff is called 'docx'; there are"):
        render(closet, "handoff", form="docx", today=TODAY)
    with pytest.raises(RequestError, match="issues are numbered from 1"):
        render(closet, "handoff", form="html", today=TODAY, issue=0)


def test_a_binder_without_a_client_still_makes_a_document(tmp_path: Path) -> None:
    from binder.file import create

    with create(tmp_path / "empty.binder", "") as binder:
        files = render(binder, "handoff", form="markdown", today=TODAY)
    assert files["client-handoff-draft/00-cover.md"].startswith("# Client not named")


def test_a_document_asks_sqlite_a_fixed_number_of_times(
    closet: BinderFile, add: Callable[..., int]
) -> None:
    """However much it holds: a query a kind, twice that for headroom and for the batteries when
    the mains fails, once more for what is missing, and a few for the order of starting; none in a
    loop."""

    def asked() -> int:
        statements: list[str] = []
        closet.connection.set_trace_callback(statements.append)
        render(closet, "handoff", form="html", today=TODAY)
        closet.connection.set_trace_callback(None)
        return len(statements)

    def feed(number: int) -> None:
        add("branch_circuit", identifier=f"LP1-{number}", rating_a=20.0, voltage_v=120.0)
        add("hardware", identifier=f"UPS{number}", form="UPS", space="1A", ups_rating_w=900.0)
        add("inlet", hardware=f"UPS{number}", label="IN", branch_circuit=f"LP1-{number}")
        add("hardware", identifier=f"AP{number}", form="access point", space="114")
        add("inlet", hardware=f"AP{number}", label="IN", fed_by=f"UPS{number}")

    feed(100)
    before = asked()
    for number in range(20):
        feed(number)
    assert asked() == before
    assert before < 175


def test_python_looks_for_rings_of_objects_again_when_the_document_is_made(
    closet: BinderFile,
) -> None:
    assert gc.isenabled()
    render(closet, "handoff", form="html", today=TODAY)
    assert gc.isenabled()
