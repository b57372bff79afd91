"""`binder` and `binder NAME-OR-FILE`: the full-screen app."""

from __future__ import annotations

import click

from tui.console import binder_path, complete_binder, is_terminal, name_of_person, shelf_folder


@click.command("open", hidden=True)
@click.argument("name", metavar="BINDER", required=False, shell_complete=complete_binder)
@click.pass_context
def open_(ctx: click.Context, name: str | None) -> int:
    """Open the shelf, or one binder."""
    from binder.errors import RequestError

    path = binder_path(name) if name else shelf_folder()
    if not is_terminal():
        raise RequestError("the app needs a terminal; `binder --help` lists the one-shot commands")
    from tui.app.run import run_app

    session = ctx.obj
    return run_app(
        path, who=name_of_person(ctx), read_only=session.read_only, mouse=session.mouse,
        served=session.served,
    )  # fmt: skip
