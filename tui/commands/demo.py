"""`binder demo`: a filled binder of an invented client, with its handoff document."""

from __future__ import annotations

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

    path = write_demo(folder, date.today(), tell)
    tell("")
    tell("What to do next:")
    tell(f"  binder {path}                 the app; ? explains each screen")
    tell(f"  binder find {path} reception  anything by part of it")
    tell(f"  binder trace {path} 1A-A07    from an outlet to the carrier")
    tell(f"  the handoff document is {folder / 'handoff.html'}")
    if no_app or not is_terminal():
        return 0
    from tui.app.run import run_app

    return run_app(path, who=name_of_person(ctx), mouse=ctx.obj.mouse)
