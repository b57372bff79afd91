"""`binder load` and `binder dump`: the JSON form; and lines of one kind, as spreadsheets have."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import IO, Any

import click

from binder.errors import FaultsError, FileError, RequestError
from tui.console import binder_argument, name_of_person, opened, tell


@click.command(
    epilog="Examples: binder load harrow patch-panels.json; "
    "binder load harrow ports.csv --kind ports --preview"
)
@binder_argument
@click.argument("source", metavar="FILE", type=click.File("r", encoding="utf-8"))
@click.option("--kind", metavar="KIND", help="FILE has lines of this kind, not the JSON form.")
@click.option("--change-existing", is_flag=True, help="With --kind: change those that are there.")
@click.option("--preview", is_flag=True, help="With --kind: show what would become, write nothing.")
@click.pass_context
def load(
    ctx: click.Context,
    name: str,
    source: IO[str],
    kind: str | None,
    change_existing: bool,
    preview: bool,
) -> int:
    """Add records from FILE ('-' reads standard input); all of it or nothing.

    The JSON form as `binder dump` writes it, or, with --kind, a line a record: columns parted by
    tabs, commas or two blanks. The first line may name them, by field name or label.
    """
    try:
        text = source.read()
    except UnicodeDecodeError as error:
        raise RequestError(f"{source.name}: not UTF-8 text at byte {error.start}") from error
    if kind is not None:
        return _load_lines(ctx, name, text, kind, change_existing, preview)
    if change_existing or preview:
        raise RequestError("--change-existing and --preview are for lines; say --kind too")
    return _load_json(ctx, name, text, source.name)


def _load_lines(
    ctx: click.Context, name: str, text: str, kind: str, change_existing: bool, preview: bool
) -> int:
    from datetime import UTC, datetime

    from binder.edit import Editor
    from binder.intake.lines import propose
    from binder.proposal import rehearsed, write
    from tui.commands.proposals import kind_named, say_proposal, tell_faults

    binder = opened(ctx, name, writing=True)
    editor = Editor(binder, name_of_person(ctx))
    proposal = propose(
        binder, kind_named(kind), text, now=datetime.now(UTC), change_existing=change_existing
    )
    proposal = rehearsed(editor, proposal)
    for note in proposal.notes:
        tell(note)
    if preview:
        say_proposal(proposal)
    if proposal.faults:
        hint = "" if change_existing or not any(one.is_taken for one in proposal.records) else (
            "; --change-existing changes those that are there"
        )  # fmt: skip
        return tell_faults(proposal, hint)
    if preview:
        tell(f"{proposal.told}; nothing was written")
        return 0
    write(editor, proposal)
    tell(proposal.done)
    return 0


def _load_json(ctx: click.Context, name: str, text: str, source_name: str) -> int:
    from binder.intake import json_form

    try:
        data = json_form.from_text(text)
    except RequestError as error:
        lines = Path(source_name).suffix.lower() in (".csv", ".tsv", ".txt")
        hint = "; a file of lines needs its kind, like --kind ports" if lines else ""
        raise RequestError(f"{source_name}: {error}{hint}") from error
    binder = opened(ctx, name, writing=True)
    try:
        with _progress(data) as progress:
            counts = json_form.load(binder, data, name_of_person(ctx), progress=progress)
    except FaultsError as error:
        for fault in error.faults:
            tell(str(fault))
        count = len(error.faults)
        faults = "1 fault" if count == 1 else f"{count} faults"
        tell(f"binder: {faults}; nothing was changed. Mend and load again")
        return error.exit_status
    tell("loaded " + ", ".join(f"{n} {plural.replace('_', ' ')}" for plural, n in counts.items()))
    return 0


class _progress:
    """A progress bar on standard error, when that is a terminal and the input is large."""

    def __init__(self, data: Any) -> None:
        lists = data.values() if isinstance(data, dict) else ()
        total = sum(len(members) for members in lists if isinstance(members, list))
        self._shown = total > 2000 and sys.stderr.isatty()
        self._total = total

    def __enter__(self) -> Any:
        if not self._shown:
            return None
        from rich.console import Console
        from rich.progress import Progress

        self._bar = Progress(console=Console(stderr=True))
        self._bar.start()
        task = self._bar.add_task("loading", total=self._total)
        return lambda done, total: self._bar.update(task, completed=done, total=total)

    def __exit__(self, *_: object) -> None:
        if self._shown:
            self._bar.stop()


@click.command(epilog="Example: binder dump harrow --to harrow.json")
@binder_argument
@click.option(
    "--to",
    "target",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A file; else standard output.",
)
@click.pass_context
def dump(ctx: click.Context, name: str, target: Path | None) -> None:
    """Write a binder in the JSON form. Equal binders give equal bytes."""
    from binder.intake import json_form

    text = json_form.to_text(json_form.dump(opened(ctx, name)))
    if target is None:
        click.echo(text, nl=False)
        return
    partial = target.with_name(f".{target.name}.{os.getpid()}")
    try:
        partial.write_text(text, encoding="utf-8", newline="\n")
        partial.chmod(0o600)
        partial.replace(target)
    except OSError as error:
        partial.unlink(missing_ok=True)
        raise FileError(f"{target}: cannot be written: {error.strerror}") from error
    tell(f"wrote {target}")
