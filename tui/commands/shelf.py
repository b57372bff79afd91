"""`binder shelf`: the binders of a shelf, and finding across all of them."""

from __future__ import annotations

from pathlib import Path

import click

from tui.console import json_option, say, say_json, say_table, shelf_folder, tell


@click.command(epilog="Example: binder shelf; binder shelf '312 555 0105'")
@click.argument("words", nargs=-1)
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
    help="The shelf; BINDER_SHELF or ~/binders if not given.",
)
@click.option("--limit", default=20, show_default=True, type=click.IntRange(1, 1000))
@json_option
def shelf(folder: Path | None, words: tuple[str, ...], limit: int, as_json: bool) -> int:
    """List the binders of a shelf; or find, in all of them, whose number, address or name it is.

    With WORDS the status is 1 when nothing fits. A binder that does not open is told, and passed
    over.
    """
    folder = folder or shelf_folder()
    return _found(folder, " ".join(words), limit, as_json) if words else _listed(folder, as_json)


def _listed(folder: Path, as_json: bool) -> int:
    from binder.shelf import shelf as listing

    entries = listing(folder)
    if as_json:
        say_json(entries)
    elif entries:
        say_table(
            ("Name", "Client", "Changed", "Problem"),
            [(e.name, e.client, e.changed, e.problem) for e in entries],
        )
    else:
        say(f"no binders in {folder}; `binder new NAME --client CLIENT` makes one there")
    return 0


def _found(folder: Path, text: str, limit: int, as_json: bool) -> int:
    from binder.shelf_find import find_on_shelf

    found = find_on_shelf(folder, text, limit)
    if as_json:
        say_json(found)
        return 0 if found.hits else 1
    for one in found.problems:
        tell(f"{one.name}: not looked into: {one.problem}")
    if not found.hits:
        say(f"nothing on the shelf has '{text}' in it; try fewer letters")
        return 1
    if found.hits[0].is_partly:
        tell("nothing has all of these words; these come nearest:")
    for hit in found.hits:
        where = "" if hit.value == hit.name else f"  ({hit.value})"
        say(f"{hit.binder}: {hit.kind.replace('_', ' ')} {hit.name}, {hit.client}{where}")
        if hit.line:
            say(f"    {hit.line}")
    return 0
