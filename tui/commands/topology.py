"""`binder topology`: the network from the carriers' circuits to the edge."""

from __future__ import annotations

import click

from tui.console import binder_argument, json_option, opened, say_json, say_lines


@click.command(epilog="Example: binder topology harrow")
@binder_argument
@json_option
@click.pass_context
def topology(ctx: click.Context, name: str, as_json: bool) -> int:
    """Show what hangs on what, from each circuit to the edge, and what is not connected; status 1
    when no circuit leads into the network."""
    from binder import topology as network

    answer = network.topology(opened(ctx, name))
    if as_json:
        say_json(answer)
    else:
        say_lines("\n".join(network.topology_lines(answer)))
    return 0 if answer.trees else 1
