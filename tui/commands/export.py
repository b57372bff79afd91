"""`binder export`: a document as Markdown or HTML."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from tui.console import binder_argument, opened, say


@click.command(epilog="Example: binder export harrow handoff --format html --to out/")
@binder_argument
@click.argument("document", type=click.Choice(["handoff"]))
@click.option(
    "--format", "form", type=click.Choice(["html", "markdown"]), default="html", show_default=True
)
@click.option(
    "--to",
    "target",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path(),
    help="The folder it is written into; here, if not given.",
)
@click.option("--date", "on", type=click.DateTime(["%Y-%m-%d"]), help="The date it bears; today.")
@click.pass_context
def export(
    ctx: click.Context, name: str, document: str, form: str, target: Path, on: date | None
) -> None:
    """Write a document into a folder; prints the files written."""
    from exporters.export import export as write

    today = on.date() if on is not None and hasattr(on, "date") else date.today()
    for path in write(opened(ctx, name), document, form=form, target=target, today=today):
        say(str(path))
