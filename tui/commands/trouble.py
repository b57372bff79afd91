"""`binder trouble`: what to look at, in order, when something is down."""

from __future__ import annotations

from datetime import date

import click

from tui.console import binder_argument, json_option, opened, say_json, say_lines


@click.command(epilog="Examples: binder trouble harrow fibre; binder trouble harrow SW1; "
                      "binder trouble harrow 1A")  # fmt: skip
@binder_argument
@click.argument("what", nargs=-1, required=True)
@json_option
@click.pass_context
def trouble(ctx: click.Context, name: str, what: tuple[str, ...], as_json: bool) -> None:
    """Show what to look at, whom to call and what carries over: of a circuit, hardware, a place, a
    port or a cable. A line marked ! is wrong, ? doubtful, + well."""
    from binder.impact import failing
    from binder.trouble import trouble as page
    from binder.trouble_words import trouble_lines

    binder = opened(ctx, name)
    answer = page(binder, failing(binder, " ".join(what)), today=date.today())
    if as_json:
        say_json(answer)
    else:
        say_lines("\n".join(trouble_lines(answer)))
