"""Issues of a document: numbered, dated, in the register; the same bytes whenever made again.

Numbered, dated releases with a digest of what was signed: closeout practice (WSU construction guide
specification 27 05 00, 3.19), common practice for the digest.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from binder.edit import Editor
from binder.envelope.keys import weak_work_for_tests
from binder.envelope.opened import create_envelope
from binder.envelope.secret_value import SecretValue
from binder.errors import FileError, RequestError
from binder.file import BinderFile
from binder.issues import Recipient, issue_of, issues_of
from binder.read import client
from exporters.documents import DOCUMENTS
from exporters.export import export, is_as_released, release, render

ON = date(2026, 3, 14)
LATER = date(2027, 1, 1)


def released(editor: Editor, folder: Path, *, form: str = "html", today: date = ON) -> str:
    return release(
        editor, "handoff", form=form, target=folder, today=today, issued_to="Priya Nandakumar"
    ).sha256


def test_issues_are_numbered_and_written_into_the_register(
    closet: BinderFile, editor: Editor, tmp_path: Path
) -> None:
    release(editor, "handoff", form="html", target=tmp_path, today=ON, issued_to="Ann",
            reason="as installed", recipients=[Recipient("Ann", "paper")])  # fmt: skip
    released(editor, tmp_path)
    assert [issue.number for issue in issues_of(closet, "handoff")] == [2, 1]
    first = issue_of(closet, "handoff", 1)
    assert (first.issued_by, first.issued_to, first.reason) == ("M. Osei", "Ann", "as installed")
    copies = closet.connection.execute("SELECT holder, medium FROM copy").fetchall()
    assert [tuple(row) for row in copies] == [("Ann", "paper")]


@pytest.mark.parametrize("form", ["html", "markdown"])
def test_both_digests_reproduce_after_edits_and_a_second_issue(
    closet: BinderFile, editor: Editor, tmp_path: Path, change: Callable[..., None], form: str
) -> None:
    first = released(editor, tmp_path / "1", form=form)
    change("SW1:01", vlan=30)
    second = released(editor, tmp_path / "2", form=form, today=LATER)
    change("SW1:01", vlan=40)
    assert first != second
    for number in (1, 2):
        again = export(closet, "handoff", form=form, target=tmp_path / "again",
                       today=date(2030, 1, 1), issue=number)  # fmt: skip
        assert is_as_released(closet, "handoff", number, again)


@pytest.mark.parametrize("document", DOCUMENTS)
def test_every_document_can_be_released_and_made_again(
    closet: BinderFile, editor: Editor, tmp_path: Path, change: Callable[..., None], document: str
) -> None:
    form = DOCUMENTS[document].usual_form
    release(editor, document, form=form, target=tmp_path / "1", today=ON, issued_to="Ann")
    change("SW1:01", vlan=30)
    again = export(closet, document, form=form, target=tmp_path / "again", today=LATER, issue=1)
    assert is_as_released(closet, document, 1, again)


def test_the_digest_is_that_of_the_file(closet: BinderFile, editor: Editor, tmp_path: Path) -> None:
    digest = released(editor, tmp_path)
    file = next(tmp_path.glob("*.html"))
    assert hashlib.sha256(file.read_bytes()).hexdigest() == digest
    assert issue_of(closet, "handoff", 1).sha256 == digest


def test_the_page_of_changes_lists_exactly_the_edits_between_two_issues(
    closet: BinderFile, editor: Editor, tmp_path: Path, change: Callable[..., None],
    add: Callable[..., int],
) -> None:  # fmt: skip
    released(editor, tmp_path, form="markdown")
    change("SW1:01", vlan=30)
    add("hardware", identifier="SW9", form="switch", space="1A")
    released(editor, tmp_path, form="markdown", today=LATER)
    files = render(closet, "handoff", form="markdown", today=ON, issue=2)
    page = next(text for name, text in files.items() if name.endswith("-changes.md"))
    rows = [line for line in str(page).splitlines() if line.startswith("| ")][2:]
    cells = [[cell.strip() for cell in row.strip("|").split("|")] for row in rows]
    assert [row[:4] for row in cells] == [
        ["Hardware SW9: added", "", "", ""],
        ["Port SW1:01: changed", "VLAN", "20", "30"],
    ]


def test_a_draft_says_so_and_an_issue_does_not(
    closet: BinderFile, editor: Editor, tmp_path: Path
) -> None:
    released(editor, tmp_path)
    draft = next(iter(render(closet, "handoff", form="html", today=ON).values()))
    issue = next(iter(render(closet, "handoff", form="html", today=ON, issue=1).values()))
    assert "Handoff binder, DRAFT" in str(draft)
    assert '<body class="draft">' in str(draft)
    assert "Handoff binder, DRAFT" not in str(issue)
    assert '<body class="draft">' not in str(issue)


def test_an_issue_that_was_only_written_down_cannot_be_made_again(
    closet: BinderFile, add: Callable[..., int]
) -> None:
    add("issue", document="handoff", number=1, issued_on="2025-01-01")
    with pytest.raises(RequestError, match="only written down"):
        render(closet, "handoff", form="html", today=ON, issue=1)


def test_what_cannot_be_written_leaves_no_issue(
    closet: BinderFile, editor: Editor, tmp_path: Path
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("")
    with pytest.raises(FileError):
        released(editor, blocked / "folder")
    assert issues_of(closet, "handoff") == ()


def test_undo_after_a_release_takes_back_the_work_before_it_and_leaves_the_issue(
    closet: BinderFile, editor: Editor, tmp_path: Path
) -> None:
    """What is in other hands cannot be unsaid: its place and digest stay, so that it can be made
    again. A line of the register that somebody took out by hand does come back."""
    sheet = client(closet)
    assert sheet is not None
    with editor.step("name the client anew") as step:
        step.change(sheet.id, {"short_name": "Quill"})
    digest = released(editor, tmp_path)
    assert editor.undo().summary == "undo name the client anew"
    assert editor.undo().summary == "undo the closet as installed"
    issue = issue_of(closet, "handoff", 1)
    assert issue.sha256 == digest
    again = export(closet, "handoff", form="html", target=tmp_path / "again", today=LATER, issue=1)
    assert is_as_released(closet, "handoff", 1, again)
    with editor.step("take issue 1 out") as step:
        step.remove(issue.id, with_dependents=True)
    assert editor.undo().summary == "undo take issue 1 out"
    assert issue_of(closet, "handoff", 1).sha256 == digest


def test_undo_does_not_bring_back_an_issue_that_could_not_be_written(
    closet: BinderFile, editor: Editor, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("exporters.export._replace", fails)
    with pytest.raises(FileError, match="No space left"):
        released(editor, tmp_path)
    assert editor.undo().summary == "undo the closet as installed"
    assert issues_of(closet, "handoff") == ()


def test_an_issue_is_the_same_whatever_the_envelope_holds_by_now(
    closet: BinderFile, add: Callable[..., int], tmp_path: Path
) -> None:
    """What is in the envelope and who opens it is told; neither is in the change log."""
    now = [datetime(2026, 3, 14, 9, tzinfo=UTC)]

    def clock() -> datetime:
        return now[0]

    editor = Editor(closet, "M. Osei", clock=clock)
    envelope = create_envelope(closet, "shop", SecretValue("kettle ladder moonrise"),
                               who="M. Osei", work=weak_work_for_tests(), clock=clock)  # fmt: skip
    early = add("secret", identifier="fibre PIN", form="PIN", belongs_to="circuit fibre")
    late = add("secret", identifier="SW1 PIN", form="PIN", belongs_to="hardware SW1")
    envelope.put(early, SecretValue("2203"))
    now[0] = datetime(2026, 3, 14, 10, tzinfo=UTC)
    released(editor, tmp_path)
    now[0] = datetime(2026, 5, 1, tzinfo=UTC)
    envelope.put(late, SecretValue("4471"))
    envelope.discard(early, [1], "moved to paper")
    envelope.rename_keyholder("shop", "night desk")
    draft = render(closet, "handoff", form="markdown", today=LATER)
    page = " ".join("".join(map(str, draft.values())).split())
    assert "opened by these keyholders: night desk." in page
    again = export(closet, "handoff", form="html", target=tmp_path / "again", today=LATER, issue=1)
    assert is_as_released(closet, "handoff", 1, again)
    assert "opened by these keyholders: shop." in " ".join(again[0].read_text().split())


def test_changes_of_what_is_withheld_are_withheld(
    closet: BinderFile, editor: Editor, tmp_path: Path, add: Callable[..., int],
    change: Callable[..., None],
) -> None:  # fmt: skip
    """The address equipment is managed through, and the integrator's own limits."""
    change("SW1", management_address="198.51.100.77")
    managed = add("address", ip="198.51.100.77", hardware="SW1", hostname="sw1-managed")
    plain = add("address", ip="198.51.100.7", hostname="beside-it")
    released(editor, tmp_path)
    with editor.step("hosts") as step:
        step.change(managed, {"hostname": "sw1-renamed"})
        step.change(plain, {"hostname": "beside-it-renamed"})
    add("planning_limit", identifier="rack units percent", value=70.0)
    files = render(closet, "handoff", form="markdown", today=LATER)
    page = str(next(text for name, text in files.items() if name.endswith("-changes.md")))
    assert "beside-it-renamed" in page
    assert "sw1-" not in page
    assert "lanning limit" not in page
