"""What the one-shot commands share: opening the binder named, printing, JSON."""

from __future__ import annotations

import dataclasses
import json
import os
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

import click

from binder.errors import RequestError
from binder.file import SUFFIX, BinderFile, open_binder
from binder.text import visible
from binder.who import who
from tui.served import is_session_served


def shelf_folder() -> Path:
    """The folder of binders: BINDER_SHELF, else `binders` in the home folder."""
    return Path(os.environ.get("BINDER_SHELF") or Path.home() / "binders")


def binder_path(name: str) -> Path:
    """The file that a name or path on the command line means."""
    path = Path(name)
    if is_session_served():
        if path.name != name:
            raise RequestError(f"'{name}' is not a name on the shelf; no other file is opened here")
    elif path.exists() or path.suffix == SUFFIX or len(path.parts) > 1:
        return path
    on_shelf = shelf_folder() / f"{name}{SUFFIX}"
    if not on_shelf.exists():
        raise RequestError(
            f"no binder '{name}' here or on the shelf {shelf_folder()}; `binder shelf` lists them"
        )
    return on_shelf


def opened(ctx: click.Context, name: str, *, writing: bool = False) -> BinderFile:
    """Open the binder named; it is closed when the command ends."""
    if writing and ctx.obj.read_only:
        raise RequestError("this session is read-only; nothing was changed")
    return ctx.with_resource(open_binder(binder_path(name), read_only=not writing))


def name_of_person(ctx: click.Context) -> str:
    return who(ctx.obj.who)


def complete_binder(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Names on the shelf and binder files here, for the shell's completion."""
    on_shelf = [path.stem for path in shelf_folder().glob(f"*{SUFFIX}")]
    here = [str(path) for path in Path().glob(f"*{SUFFIX}")]
    return sorted(name for name in on_shelf + here if name.startswith(incomplete))


def binder_argument(function: Callable[..., Any]) -> Callable[..., Any]:
    """The BINDER argument: a name on the shelf or a file."""
    return click.argument("name", metavar="BINDER", shell_complete=complete_binder)(function)


json_option = click.option("--json", "as_json", is_flag=True, help="The answer as data.")


def say(text: str) -> None:
    """A line of the answer, on standard output, harmless to a terminal."""
    click.echo(visible(text))


def say_lines(text: str) -> None:
    """Several lines of the answer; a tab in one, which would part its columns, is a sign."""
    click.echo("\n".join(map(visible, text.split("\n"))))


def tell(text: str) -> None:
    """Narration, on standard error."""
    click.echo(visible(text), err=True)


def say_json(answer: Any) -> None:
    """The answer as data: ASCII only, so that no stored character reaches a terminal raw."""
    click.echo(json.dumps(_plain(answer), indent=1))


def _plain(answer: Any) -> Any:
    if dataclasses.is_dataclass(answer) and not isinstance(answer, type):
        return dataclasses.asdict(answer)
    if isinstance(answer, list | tuple):
        return [_plain(part) for part in answer]
    return answer


def say_table(
    heads: Sequence[str], rows: Iterable[Sequence[str]], *, last_free: bool = True
) -> None:
    """Columns as wide as what they hold; the last one runs on. Cells are cut nowhere."""
    from wcwidth import wcswidth

    lines = [tuple(visible(cell) for cell in row) for row in (heads, *rows)]
    widths = [max(max(wcswidth(line[i]), 0) for line in lines) for i in range(len(heads))]
    for line in lines:
        cells = [
            cell + " " * (width - max(wcswidth(cell), 0))
            for cell, width in zip(line, widths, strict=True)
        ]
        click.echo("  ".join(cells).rstrip())


def is_terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()
