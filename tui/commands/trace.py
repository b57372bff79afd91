"""`binder trace`: from a port to the circuit."""

from __future__ import annotations

import click

from tui.console import binder_argument, json_option, opened, say_json, say_lines


@click.command(epilog="Example: binder trace harrow 1A-A07")
@binder_argument
@click.argument("what", nargs=-1, required=True)
@json_option
@click.pass_context
def trace(ctx: click.Context, name: str, what: tuple[str, ...], as_json: bool) -> int:
    """Show the path of a port, link, cord or device; status 1 when it reaches no circuit."""
    from binder import trace as tracing
    from binder.read import unit_system

    binder = opened(ctx, name)
    answer = tracing.trace(binder, tracing.starting_point(binder, " ".join(what)))
    if as_json:
        say_json(answer)
    else:
        say_lines("\n".join(tracing.path_lines(answer, unit_system(binder))))
    return 0 if answer.circuits else 1
