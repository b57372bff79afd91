"""`binder review`: take the quarter's review, open an earlier one, compare two."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from binder.errors import RequestError
from tui.console import (
    binder_argument,
    json_option,
    name_of_person,
    opened,
    say,
    say_json,
    say_lines,
    say_table,
    shelf_folder,
    tell,
)

if TYPE_CHECKING:
    from binder.file import BinderFile
    from binder.review.taken import Review

_DAY = click.DateTime(["%Y-%m-%d"])


@click.group(epilog="Examples: binder review take harrow; binder review compare harrow Q-0003 now")
def review() -> None:
    """The quarterly review: what fills next, when, and what to do about it."""


@review.command()
@binder_argument
@click.option("--date", "on", type=_DAY, help="The day it bears; today.")
@click.option("--propose", is_flag=True, help="Propose an action for each row that asks for one.")
@json_option
@click.pass_context
def take(ctx: click.Context, name: str, on: date | None, propose: bool, as_json: bool) -> int:
    """Compute headroom and store it for good; tells what the quarter asks for besides."""
    from binder.edit import Editor
    from binder.review.actions import propose as proposed
    from binder.review.asked import asked
    from binder.review.cures import ailing
    from binder.review.taken import take as taken

    binder = opened(ctx, name, writing=True)
    today = _day(on)
    editor = Editor(binder, name_of_person(ctx))
    made = taken(editor, today)
    if propose:
        ids = proposed(editor, made.id, ailing(binder, made.headroom))
        tell(f"{len(ids)} actions proposed; `binder review actions` lists them")
    if as_json:
        say_json(made)
        return 0
    counts = ", ".join(
        f"{count} {state}" for state, count in made.headroom.counts().items() if count
    )
    tell(f"{made.name} taken at change {made.change_position}: {counts}")
    duties = asked(binder, today)
    for one in duties:
        last = f", last done {one.last_done_on}" if one.last_done_on else ""
        say(f"{one.due_on}  {one.name}{last}")
    if duties:
        tell("the quarter asks for these; `binder review tick BINDER DUTY` says that one is done")
    return 0


@review.command()
@binder_argument
@click.argument("which", required=False)
@click.option("--check", is_flag=True, help="Compute it again from the binder as it stood.")
@json_option
@click.pass_context
def show(ctx: click.Context, name: str, which: str | None, check: bool, as_json: bool) -> int:
    """List the reviews, or show one as it was taken; with --check, status 1 when it differs."""
    from binder.review.taken import reproduces, reviews

    binder = opened(ctx, name)
    if which is None:
        found = reviews(binder)
        if as_json:
            say_json([{"name": one.name, "taken_on": one.taken_on, "taken_by": one.taken_by,
                       "counts": one.headroom.counts()} for one in found])  # fmt: skip
            return 0
        rows = [(one.name, one.taken_on, one.taken_by,
                 ", ".join(f"{n} {s}" for s, n in one.headroom.counts().items() if n))
                for one in found]  # fmt: skip
        say_table(("Review", "Taken on", "By", "Rows"), rows)
        return 0
    held = _review(binder, which)
    if check:
        same = reproduces(binder, held)
        say(f"{held.name}: {'the same' if same else 'not the same'} when computed again")
        return 0 if same else 1
    if as_json:
        say_json(held)
        return 0
    from binder.headroom.words import lines
    from binder.read import unit_system
    from binder.review.exhaustion import exhaustion, with_outlooks

    say(f"{held.name}, taken {held.taken_on} by {held.taken_by}")
    day = date.fromisoformat(held.taken_on)
    stood = with_outlooks(held.headroom, exhaustion(binder, held.headroom, day))
    say_lines("\n".join(lines(stood, unit_system(binder))))
    return 0


@review.command()
@binder_argument
@click.argument("earlier")
@click.argument("later", default="now")
@json_option
@click.pass_context
def compare(ctx: click.Context, name: str, earlier: str, later: str, as_json: bool) -> int:
    """Show what moved from one review to another, or to 'now'."""
    from binder.headroom import headroom
    from binder.headroom.words import in_system
    from binder.read import unit_system
    from binder.review.compared import compared

    binder = opened(ctx, name)
    then = _review(binder, earlier).headroom
    now = (
        headroom(binder, today=date.today()) if later == "now" else _review(binder, later).headroom
    )
    answer = compared(then, now)
    if as_json:
        say_json(answer)
        return 0
    system = unit_system(binder)
    for one in answer.changes:
        says = in_system(one.says, system)
        say(f"{'!' if one.worse else ' '} {one.resource}, {one.name}: {says}")
    say(f"{len(answer.changes)} rows moved since {answer.since}, {answer.unchanged} did not")
    return 0


@review.command()
@binder_argument
@json_option
@click.pass_context
def ahead(ctx: click.Context, name: str, as_json: bool) -> int:
    """Show where each resource leads, and when it is used up; status 1 if any is within a year."""
    from binder.headroom import headroom
    from binder.headroom.words import in_system
    from binder.read import unit_system
    from binder.review.exhaustion import exhaustion

    binder, today = opened(ctx, name), date.today()
    found = exhaustion(binder, headroom(binder, today=today), today)
    if as_json:
        say_json(found)
    else:
        system = unit_system(binder)
        for one in found:
            called = " ".join(filter(None, (one.row.where.name, one.row.which)))
            says = in_system(one.says, system)
            say(f"{one.when or '-':<10}  {one.row.resource}, {called}: {says}")
    soon = date(today.year + 1, today.month, min(today.day, 28)).isoformat()
    return 1 if any(one.on and one.on <= soon and not one.is_far for one in found) else 0


@review.command()
@binder_argument
@json_option
@click.pass_context
def spend(ctx: click.Context, name: str, as_json: bool) -> None:
    """Show what falls due and what it costs, by quarter, three years ahead."""
    from binder.headroom import headroom
    from binder.review.spend import price_told
    from binder.review.spend import spend as reckoned

    binder = opened(ctx, name)
    answer = reckoned(binder, headroom(binder, today=date.today()))
    if as_json:
        say_json(answer)
        return
    for title, dues in [("overdue", answer.overdue), *((q.name, q.dues) for q in answer.quarters)]:
        for due in dues:
            cost = price_told(answer.currency, due.cost_cents)
            say(f"{title:<8} {due.on}  {due.what:<12} {due.name}: {due.says} ({cost})")


@review.command()
@binder_argument
@json_option
@click.pass_context
def actions(ctx: click.Context, name: str, as_json: bool) -> None:
    """List the actions of the reviews, the open ones first."""
    from binder.review.actions import actions as found

    answer = found(opened(ctx, name))
    if as_json:
        say_json(answer)
        return
    rows = [(one.name, one.state, one.due_on, one.review, one.what) for one in answer]
    say_table(("Action", "State", "Due", "Since", "What"), rows)


@review.command()
@binder_argument
@click.argument("action")
@click.argument("state", type=click.Choice(["proposed", "agreed", "done", "dropped"]))
@click.option("--by", metavar="NAME", help="Who decided, or did it; you, if not given.")
@click.pass_context
def decide(ctx: click.Context, name: str, action: str, state: str, by: str | None) -> None:
    """Say that an action is agreed to, done, or dropped."""
    from binder.edit import Editor
    from binder.read import resolve
    from binder.review.actions import decide as decided

    binder, who = opened(ctx, name, writing=True), name_of_person(ctx)
    decided(Editor(binder, who), resolve(binder, action, "action").id, state, by=by or who,
            on=date.today())  # fmt: skip
    tell(f"{action} is {state}")


@review.command()
@binder_argument
@click.argument("duty", nargs=-1, required=True)
@click.option("--result", default="", help="What came of it.")
@click.pass_context
def tick(ctx: click.Context, name: str, duty: tuple[str, ...], result: str) -> None:
    """Say that a duty the quarter asks for was done today."""
    from binder.edit import Editor
    from binder.review.asked import asked
    from binder.review.asked import tick as ticked

    binder, who, today = opened(ctx, name, writing=True), name_of_person(ctx), date.today()
    said = " ".join(duty).casefold()
    due = asked(binder, today)
    found = [one for one in due if said in one.name.casefold()]
    if len(found) != 1:
        names = ", ".join(one.name for one in found or due) or "none"
        raise RequestError(f"'{' '.join(duty)}' is not one of what is due: {names}")
    ticked(Editor(binder, who), found[0], today, by=who, result=result)
    tell(f"done: {found[0].name}")


@review.command("shelf")
@click.option("--folder", type=click.Path(path_type=Path, file_okay=False), help="The shelf.")
@click.option(
    "--html", "page", type=click.Path(path_type=Path, dir_okay=False),
    help="Write it as one HTML page too.",
)  # fmt: skip
@json_option
def over_shelf(folder: Path | None, page: Path | None, as_json: bool) -> int:
    """Review every client of the shelf in one table; status 1 when a binder could not be read."""
    from rich.console import Console
    from rich.progress import Progress

    from binder.review.shelf import review_shelf

    shelf = folder or shelf_folder()
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("binders", total=None)
        answer = review_shelf(
            shelf, date.today(),
            progress=lambda done, of: bar.update(task, completed=done, total=of),
        )  # fmt: skip
    if page is not None:
        from exporters.shelf_page import write_page

        write_page(answer, page)
        tell(f"wrote {page}")
    if as_json:
        say_json(answer)
    else:
        say_table(
            ("Client", "Runs out", "Overdue", "Batteries", "Notice", "Secrets", "Stale", "Review"),
            [
                (
                    one.client or one.name, str(len(one.runs_out)), str(len(one.overdue_duties)),
                    str(len(one.batteries_due)), str(len(one.circuits_past_notice)),
                    str(one.secrets_to_rotate), f"{one.stale_percent} %",
                    one.last_review or "never",
                )
                for one in answer.clients if not one.problem
            ],
        )  # fmt: skip
    for one in answer.problems:
        tell(f"{one.name}: could not be read: {one.problem}")
    return 1 if answer.problems else 0


def _review(binder: BinderFile, which: str) -> Review:
    from binder.read import resolve
    from binder.review.taken import open_review

    return open_review(binder, resolve(binder, which, "review").id)


def _day(on: date | None) -> date:
    return date.fromisoformat(on.strftime("%Y-%m-%d")) if on else date.today()
