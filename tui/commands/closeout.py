"""`binder closeout`: what is missing before the binder can be handed over and signed."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from tui.console import binder_argument, json_option, opened, say, say_json

if TYPE_CHECKING:
    from binder.closeout import Closeout


@click.command(
    epilog="Examples: binder closeout harrow; binder closeout harrow --rule link-tested --why"
)
@binder_argument
@click.option("--rule", "rules", multiple=True, metavar="RULE", help="Only this rule; again: more.")
@click.option("--must", "only_musts", is_flag=True, help="Only what stands in the way of signing.")
@click.option("--why", is_flag=True, help="Why each matters, how to mend it, what asks for it.")
@click.option("--rules", "list_rules", is_flag=True, help="List the rules instead.")
@json_option
@click.pass_context
def closeout(
    ctx: click.Context,
    name: str,
    rules: tuple[str, ...],
    only_musts: bool,
    why: bool,
    list_rules: bool,
    as_json: bool,
) -> int:
    """List the gaps by place, then what was waived and why; status 1 while a 'must' is open."""
    from binder.closeout import RULES, gaps
    from binder.errors import RequestError

    if list_rules:
        for rule in RULES.values():
            say(f"{rule.name:<26} {rule.severity:<7} {rule.why}")
        return 0
    for asked in rules:
        if asked not in RULES:
            raise RequestError(f"no rule is called '{asked}'; --rules lists them")
    answer = gaps(opened(ctx, name), date.today(), rules=rules)
    if as_json:
        say_json(answer)
    else:
        _show(answer, only_musts=only_musts, why=why)
    return 1 if answer.open_musts else 0


def _show(answer: Closeout, *, only_musts: bool, why: bool) -> None:
    for place, found in answer.by_place().items():
        told = [gap for gap in found if gap.severity == "must" or not only_musts]
        if told:
            say(place or "The binder as a whole")
        for gap in told:
            say(f"  {gap.severity:<7} {gap.rule:<24} {gap.says}")
            if why:
                say(f"          {gap.why} {gap.mend}")
                say(f"          asked for by: {gap.basis}")
    if answer.waived:
        say("Waived")
    for one in answer.waived:
        until = f", until {one.until}" if one.until else ""
        say(f"  {one.gap.rule:<24} {one.gap.says}: {one.reason} ({one.by}, {one.on}{until})")
    should = len(answer.gaps) - answer.open_musts
    say(f"{answer.open_musts} must be mended, {should} should be; {len(answer.waived)} waived")
