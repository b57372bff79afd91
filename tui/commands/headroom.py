"""`binder headroom`: what is rated, used, reserved and free."""

from __future__ import annotations

import click

from tui.console import binder_argument, json_option, opened, say_json, say_lines

# As `binder.headroom.STATES` has them; told here so that help costs no engineering.
_STATES = ("over", "short", "tight", "not known", "fine")


@click.command(
    epilog="Examples: binder headroom harrow --space 1A; binder headroom harrow UPS1 --basis"
)
@binder_argument
@click.argument("what", nargs=-1)
@click.option("--space", metavar="SPACE", help="Only what is in that space.")
@click.option("--state", type=click.Choice(_STATES), help="Only rows in that state.")
@click.option("--basis", is_flag=True, help="The sum behind each row, worked through.")
@json_option
@click.pass_context
def headroom(
    ctx: click.Context,
    name: str,
    what: tuple[str, ...],
    space: str | None,
    state: str | None,
    basis: bool,
    as_json: bool,
) -> int:
    """Show what is full and what fills next, of all or of WHAT; status 1 when anything is over or
    short."""
    from binder.headroom import headroom as computed
    from binder.headroom import of
    from binder.headroom.words import lines
    from binder.read import unit_system

    binder = opened(ctx, name)
    answer = computed(binder, space=space, state=state)
    if what:
        answer = of(answer, " ".join(what))
    if as_json:
        say_json(answer)
    else:
        say_lines("\n".join(lines(answer, unit_system(binder), basis=basis)))
    return 1 if any(row.state in ("over", "short") for row in answer.rows) else 0
