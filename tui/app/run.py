"""Starts the full-screen app: the one entry of this package."""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path

from binder.errors import RequestError
from binder.text import visible

# Settings by which Textual writes down each key, or sends it to a console for developers.
_TELLS = ("TEXTUAL", "TEXTUAL_LOG", "TEXTUAL_DEBUG", "TEXTUAL_SCREENSHOT")
# An answer is often two changes of the screen, the second a moment after the first: at Textual's
# own 60 pictures a second it would wait 30 ms. Pictures are made only when something changes.
_PICTURES_PER_S = "250"


def run_app(
    path: Path, *, who: str, read_only: bool = False, mouse: bool = False, served: bool = False
) -> int:
    """Run the app on a binder file or on a shelf, a folder of binders; gives the exit status.

    `served`: the app is its user's only door to this host, and opens none to its programs or files.

    Raises FileError when the binder does not open or turns out damaged, RequestError on a
    terminal that cannot show a full screen.
    """
    if os.environ.get("TERM", "dumb") == "dumb":
        raise RequestError(
            "this terminal (TERM=dumb) cannot show a full screen; use `binder find`, "
            "`binder show`, `binder trace` or `binder log`"
        )
    if os.environ.get("NO_COLOR") == "":  # set but empty asks for nothing, and Textual differs
        del os.environ["NO_COLOR"]
    for name in _TELLS:  # what is typed and shown would be in its log, or in a picture
        os.environ.pop(name, None)
    os.environ["TEXTUAL_FPS"] = _PICTURES_PER_S
    gc.disable()  # until the first picture stands: loading makes much, and leaves no rings
    from tui.app.binder_app import BinderApp

    app = BinderApp(path, who=who, read_only=read_only, served=served)
    if os.name == "posix":
        from tui.app.thrifty_driver import ThriftyDriver

        app.driver_class = ThriftyDriver
    status = app.run(mouse=mouse) or 0
    if app.damage:
        raise app.damage
    if app.left_open:
        print(visible(app.told_at_the_end()), file=sys.stderr)
    return status
