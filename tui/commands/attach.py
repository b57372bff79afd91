"""`binder attach`: photos, reports and drawings, in the binder."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from binder.errors import RequestError
from binder.records.catalog import BY_NAME
from tui.console import (
    binder_argument,
    json_option,
    name_of_person,
    opened,
    say,
    say_json,
    say_table,
    tell,
)

if TYPE_CHECKING:
    from binder.attachments import Attached

_FORMS = BY_NAME["attachment"].field("form").choices


@click.command(
    epilog="Examples: binder attach harrow; binder attach harrow front.jpg --of 1A-R1 "
    "--title 'rack 1A-R1, front'; binder attach harrow --write 'rack 1A-R1, front' --into out/"
)
@binder_argument
@click.argument("file", required=False, type=click.Path(path_type=Path, dir_okay=False))
@click.option("--of", "subject", metavar="RECORD", help="What it shows or is about.")
@click.option("--title", help="What it is called; the file's name, if not given.")
@click.option("--kind", "form", type=click.Choice(_FORMS), help="As the file suggests, else.")
@click.option("--taken-on", type=click.DateTime(["%Y-%m-%d"]), help="As the photo says, else.")
@click.option("--write", "written", metavar="TITLE", help="Write this one into a folder.")
@click.option(
    "--into", "folder", type=click.Path(path_type=Path, file_okay=False), default=Path(),
    help="The folder; here, if not given.",
)  # fmt: skip
@json_option
@click.pass_context
def attach(
    ctx: click.Context,
    name: str,
    file: Path | None,
    subject: str | None,
    title: str | None,
    form: str | None,
    taken_on: date | None,
    written: str | None,
    folder: Path,
    as_json: bool,
) -> None:
    """List the attachments; with FILE add it; with --write take one out.

    Photos are made smaller and lose where they were taken. No file is ever replaced.
    """
    from binder import attachments
    from binder.read import resolve

    if file is not None and written:
        raise RequestError("give FILE to add it, or --write to take one out; not both")
    if written:
        binder = opened(ctx, name)
        say(str(attachments.extract(binder, resolve(binder, written, "attachment").id, folder)))
        return
    if file is None:
        _list(attachments.attachments(opened(ctx, name)), as_json)
        return
    from binder.edit import Editor

    prepared = attachments.prepare(file)
    binder = opened(ctx, name, writing=True)
    subject_id = resolve(binder, subject).id if subject else None
    day = taken_on.strftime("%Y-%m-%d") if taken_on else ""
    called = title or file.stem
    attachments.attach(
        Editor(binder, name_of_person(ctx)), prepared, called, subject_id=subject_id,
        form=form or "", taken_on=day,
    )  # fmt: skip
    tell(f"attached '{called}': {len(prepared.data):,} bytes, SHA-256 {prepared.sha256}")


def _list(found: Sequence[Attached], as_json: bool) -> None:
    if as_json:
        say_json(found)
        return
    rows = []
    for one in found:
        size = f"{max(one.size_bytes // 1000, 1):,} kB" if one.size_bytes else ""
        where = "here" if one.is_here else one.kept_at or "not recorded where"
        rows.append((one.title, one.form, one.subject, one.taken_on, size, where))
    say_table(("Title", "Kind", "Of", "Taken on", "Size", "Kept"), rows)
