"""The issue register: each released document with its number, its day, who made it for whom, its
SHA-256 and its place in the change log."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from binder.edit import Editor
from binder.errors import RequestError
from binder.file import BinderFile
from binder.history import position
from binder.read import Record, read_where
from binder.records.catalog import BY_NAME


@dataclass(frozen=True, slots=True)
class Recipient:
    """Who gets a copy, and on what."""

    holder: str
    medium: str = "file"
    sealed_secrets: bool = False


@dataclass(frozen=True, slots=True)
class Issue:
    """A released document. `change_position` is None for one that was only written down here;
    such a one cannot be made again."""

    id: int
    document: str
    number: int
    issued_on: str
    issued_by: str
    issued_to: str
    reason: str
    sha256: str
    change_position: int | None


def issues_of(binder: BinderFile, document: str) -> tuple[Issue, ...]:
    """The issues of a document, the latest first."""
    found = read_where(
        binder, BY_NAME["issue"], "t.document = ?", (document,), order_by="t.number DESC"
    )
    return tuple(_issue(record) for record in found)


def issue_of(binder: BinderFile, document: str, number: int) -> Issue:
    """One issue of a document. Raises RequestError when there is none of that number."""
    for issue in issues_of(binder, document):
        if issue.number == number:
            return issue
    raise RequestError(f"there is no issue {number} of the {document}")


def record_issue(
    editor: Editor,
    document: str,
    *,
    issued_on: date,
    issued_to: str,
    reason: str = "",
    recipients: Sequence[Recipient] = (),
) -> Issue:
    """Write a new issue into the register, with a copy for each recipient, in one step.

    Its place in the change log is the one after this step: the issue is made of the binder as it
    stands there. What it came to is told by `record_digest`. Raises FaultsError for a document
    that there is not.
    """
    before = issues_of(editor.binder, document)
    number = before[0].number + 1 if before else 1
    with editor.step(f"issue {document} {number}") as step:
        issue_id = step.add(
            "issue",
            {
                "document": document, "number": number, "issued_on": issued_on.isoformat(),
                "issued_by": editor.who, "issued_to": issued_to or None, "reason": reason or None,
            },
        )  # fmt: skip
        for recipient in recipients:
            step.add(
                "copy",
                {
                    "issue": issue_id, "holder": recipient.holder, "medium": recipient.medium,
                    "sealed_secrets": int(recipient.sealed_secrets),
                    "handed_on": issued_on.isoformat(),
                },
            )  # fmt: skip
    stands_at = position(editor.binder)
    with editor.step(f"place of {document} {number} in the change log") as step:
        step.change(issue_id, {"change_position": stands_at})
    return issue_of(editor.binder, document, number)


def record_digest(editor: Editor, issue: Issue, files: Mapping[str, bytes]) -> str:
    """Write down the SHA-256 of what was released; gives it."""
    digest = digest_of(files)
    with editor.step(f"SHA-256 of {issue.document} {issue.number}") as step:
        step.change(issue.id, {"sha256": digest})
    return digest


def digest_of(files: Mapping[str, bytes]) -> str:
    """The SHA-256 of a file; of several, that of their list as `sha256sum` prints it, by name."""
    digests = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    if len(digests) == 1:
        return next(iter(digests.values()))
    listed = "".join(f"{digests[name]}  {name}\n" for name in sorted(digests))
    return hashlib.sha256(listed.encode()).hexdigest()


def _issue(record: Record) -> Issue:
    return Issue(
        record.id, record["document"], record["number"], record["issued_on"],
        record["issued_by"] or "", record["issued_to"] or "", record["reason"] or "",
        record["sha256"] or "", record["change_position"],
    )  # fmt: skip
