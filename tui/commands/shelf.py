"""`binder shelf`: the binders of a shelf."""

from __future__ import annotations

from pathlib import Path

import click

from tui.console import json_option, say, say_json, say_table, shelf_folder


@click.command(epilog="Example: binder shelf --folder /srv/binders")
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
    help="The shelf; BINDER_SHELF or ~/binders if not given.",
)
@json_option
def shelf(folder: Path | None, as_json: bool) -> None:
    """List the binders of a shelf, and what is wrong with any that does not open."""
    from binder.shelf import shelf as listing

    folder = folder or shelf_folder()
    entries = listing(folder)
    if as_json:
        say_json(entries)
        return
    if not entries:
        say(f"no binders in {folder}; `binder new NAME --client CLIENT` makes one there")
        return
    say_table(
        ("Name", "Client", "Changed", "Problem"),
        [(e.name, e.client, e.changed, e.problem) for e in entries],
    )
