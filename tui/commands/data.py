"""`binder load` and `binder dump`: the JSON form."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import IO, Any

import click

from binder.errors import FaultsError, FileError, RequestError
from tui.console import binder_argument, name_of_person, opened, tell


@click.command(epilog="Example: binder load harrow patch-panels.json")
@binder_argument
@click.argument("source", metavar="JSON-FILE", type=click.File("r", encoding="utf-8"))
@click.pass_context
def load(ctx: click.Context, name: str, source: IO[str]) -> int:
    """Add records from the JSON form ('-' reads standard input); all of it or nothing."""
    from binder.intake import json_form

    try:
        data = json_form.from_text(source.read())
    except UnicodeDecodeError as error:
        raise RequestError(f"{source.name}: not UTF-8 text at byte {error.start}") from error
    except RequestError as error:
        raise RequestError(f"{source.name}: {error}") from error
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
