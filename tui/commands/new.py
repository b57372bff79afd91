"""`binder new`: an empty binder."""

from __future__ import annotations

from pathlib import Path

import click

from tui.console import name_of_person, shelf_folder, tell


@click.command(epilog="Example: binder new harrow.binder --client 'Harrow Bakery'")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--client", "client_name", required=True, help="The client's name.")
@click.option("--units", type=click.Choice(["us", "metric"]), default="us", show_default=True)
@click.pass_context
def new(ctx: click.Context, file: Path, client_name: str, units: str) -> None:
    """Make an empty binder for a client. A bare name is made on the shelf."""
    from binder.errors import FileError, RequestError
    from binder.file import SUFFIX, create

    if ctx.obj.read_only:
        raise RequestError("this session is read-only; nothing was made")
    if not client_name.strip():
        raise RequestError("the client's name is empty; give it with --client")
    path = file if file.suffix == SUFFIX else file.with_name(file.name + SUFFIX)
    if len(file.parts) == 1 and file.suffix != SUFFIX:
        path = shelf_folder() / path
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise FileError(f"{path.parent}: cannot be made: {error.strerror}") from error
    create(path, client_name.strip(), unit_system=units, who=name_of_person(ctx)).close()
    tell(f"made {path}; open it with: binder {path}")
