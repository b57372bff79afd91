"""`binder impact`: what goes dark when something fails, and in what order to start and stop."""

from __future__ import annotations

from math import inf

import click

from binder.errors import RequestError
from tui.console import binder_argument, json_option, opened, say_json, say_lines


@click.command(
    epilog="Examples: binder impact harrow SW1; binder impact harrow LP1-12 --minutes 10; "
    "binder impact harrow UPS1 --order"
)
@binder_argument
@click.argument("what", nargs=-1)
@click.option(
    "--minutes", type=click.FloatRange(0), help="Only what is lost within so many minutes."
)
@click.option("--order", is_flag=True, help="In what order to start and stop; of all without WHAT.")
@json_option
@click.pass_context
def impact(
    ctx: click.Context,
    name: str,
    what: tuple[str, ...],
    minutes: float | None,
    order: bool,
    as_json: bool,
) -> int:
    """Show what loses power, data or redundancy if WHAT fails; status 1 when anything loses power
    or data. With --order, status 1 when things wait for each other."""
    from binder.impact_words import impact_lines, order_lines

    text = " ".join(what)
    binder = opened(ctx, name)
    if order:
        from binder.start_order import start_order

        steps = start_order(binder, text)
        if as_json:
            say_json(steps)
        else:
            say_lines("\n".join(order_lines(steps)))
        return 1 if steps.rings else 0
    if not text:
        raise RequestError("name what fails, like SW1, or ask for the --order of everything")
    from binder import impact as impacts

    within_min = inf if minutes is None else minutes
    answer = impacts.impact(binder, impacts.failing(binder, text), within_min=within_min)
    if as_json:
        say_json(answer)
    else:
        say_lines("\n".join(impact_lines(answer)))
    return 1 if answer.power or answer.data else 0
