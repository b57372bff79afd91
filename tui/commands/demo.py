"""`binder demo`: a filled binder of an invented client, with its handoff document."""

from __future__ import annotations

import shutil
import sys
from datetime import date
from pathlib import Path

import click

from tui.console import is_terminal, name_of_person, tell


@click.command(epilog="Example: binder demo try-out")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False), default="binder-demo")
@click.option("--no-app", is_flag=True, help="Do not open the app afterwards.")
@click.pass_context
def demo(ctx: click.Context, folder: Path, no_app: bool) -> int:
    """Make the demo in FOLDER (default binder-demo) and open the app on it."""
    from demo.write import write_demo

    made = write_demo(folder, date.today(), tell)
    program = _as_called()
    for line in (
        "",
        "What to do next:",
        f"  {program} {made.binder}",
        "      the app; ? explains each screen",
        f"  {program} find {made.binder} reception",
        "      anything by part of it: a room, a name, a MAC, a phone number",
        f"  {program} trace {made.binder} 1A-A07",
        "      from an outlet to the carrier",
        f"  {program} reveal {made.binder} fibre account PIN --why 'to try it'",
        "      a secret; what opens this demo's envelope, for the demo only, is one of:",
        *(f"      {phrase}  ({name})" for name, phrase in made.passphrases.items()),
        f"  {program} envelope leaver {made.binder} 'K. Brandt'",
        "      what to change because a technician left",
        f"  open {made.handoff} in a browser: the handoff document",
        f"  open {made.sealed}: the same, with the secrets in it, sealed;",
        f"      what opens them, under 'Accounts and secrets', is: {made.sealed_passphrase}",
    ):
        tell(line)
    if no_app or not is_terminal():
        return 0
    from tui.app.run import run_app

    return run_app(made.binder, who=name_of_person(ctx), mouse=ctx.obj.mouse)


def _as_called() -> str:
    """The program's name as this person can type it again."""
    called = Path(sys.argv[0])
    return called.name if shutil.which(called.name) else str(called)
