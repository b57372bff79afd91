"""`binder find`: anything by part of it."""

from __future__ import annotations

import click

from tui.console import binder_argument, json_option, opened, say, say_json, tell


@click.command(epilog="Example: binder find harrow '312 555 0100'")
@binder_argument
@click.argument("words", nargs=-1, required=True)
@click.option("--limit", default=20, show_default=True, type=click.IntRange(1, 1000))
@json_option
@click.pass_context
def find(ctx: click.Context, name: str, words: tuple[str, ...], limit: int, as_json: bool) -> int:
    """Find a room, outlet, MAC, address, number, circuit ID or name; status 1 when nothing fits."""
    from binder import find as finding

    text = " ".join(words)
    hits = finding.find(opened(ctx, name), text, limit)
    if as_json:
        say_json(hits)
        return 0 if hits else 1
    if hits and hits[0].is_partly:
        tell("nothing has all of these words; these come nearest:")
    for hit in hits:
        say(f"{hit.kind.replace('_', ' ')} {hit.name}  ({hit.field}: {hit.value})")
        if hit.line:
            say(f"    {hit.line}")
    if not hits:
        say(f"nothing has '{text}' in it; try fewer letters")
        return 1
    return 0
