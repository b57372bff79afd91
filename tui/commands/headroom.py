"""`binder headroom`: what is rated, used, reserved and free."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TextIO

import click

from binder.errors import RequestError
from binder.file import BinderFile
from tui.console import (
    binder_argument,
    json_option,
    name_of_person,
    opened,
    say_json,
    say_lines,
    tell,
)

# As `binder.headroom.STATES` has them; told here so that help costs no engineering.
_STATES = ("over", "short", "tight", "not known", "fine")


@click.command(
    epilog="Examples: binder headroom harrow --space 1A; binder headroom harrow UPS1 --basis; "
    "echo '2 x storage server: 2U, 150 W each, in 1A-R1' | binder headroom harrow --what-if -"
)
@binder_argument
@click.argument("what", nargs=-1)
@click.option("--space", metavar="SPACE", help="Only what is in that space.")
@click.option("--state", type=click.Choice(_STATES), help="Only rows in that state.")
@click.option("--basis", is_flag=True, help="The sum behind each row, worked through.")
@click.option(
    "--what-if",
    "listed",
    type=click.File(encoding="utf-8"),
    metavar="FILE",
    help="With these added, a line a thing; - reads standard input.",
)
@click.option("--keep", is_flag=True, help="Keep what --what-if lists, as planned hardware.")
@json_option
@click.pass_context
def headroom(
    ctx: click.Context,
    name: str,
    what: tuple[str, ...],
    space: str | None,
    state: str | None,
    basis: bool,
    listed: TextIO | None,
    keep: bool,
    as_json: bool,
) -> int:
    """Show what is full and what fills next, of all or of WHAT; status 1 when anything is over or
    short."""
    from binder.headroom import headroom as computed
    from binder.headroom import of
    from binder.headroom.words import lines
    from binder.read import unit_system
    from binder.review.exhaustion import exhaustion, with_outlooks

    if keep and listed is None:
        raise RequestError("--keep keeps what --what-if lists; give both")
    binder = opened(ctx, name, writing=keep)
    if listed is not None:
        return _what_if(ctx, binder, listed, keep=keep, as_json=as_json)
    today = datetime.now(UTC).date()
    answer = computed(binder, space=space, state=state, today=today)
    if what:
        answer = of(answer, " ".join(what))
    answer = with_outlooks(answer, exhaustion(binder, answer, today))
    if as_json:
        say_json(answer)
    else:
        say_lines("\n".join(lines(answer, unit_system(binder), basis=basis)))
    return 1 if any(row.state in ("over", "short") for row in answer.rows) else 0


def _what_if(
    ctx: click.Context, binder: BinderFile, listed: TextIO, *, keep: bool, as_json: bool
) -> int:
    from binder.headroom import what_if as planning
    from binder.headroom.additions import parse
    from binder.headroom.words import what_if_lines
    from binder.read import unit_system

    system = unit_system(binder)
    try:
        text = listed.read()
    except UnicodeDecodeError as error:
        raise RequestError(f"{listed.name}: is no UTF-8 text; write a line a thing") from error
    additions = parse(binder, text, system=system)
    answer = planning.what_if(binder, additions)
    if keep:
        planning.keep(binder, name_of_person(ctx), additions)
        tell(f"kept as planned: {', '.join(answer.additions)}; undo takes it back")
    if as_json:
        say_json(answer)
    else:
        say_lines("\n".join(what_if_lines(answer, system)))
    return 0 if answer.fits else 1
