"""The `binder` command: parses what was typed, then imports what that one command needs."""

from __future__ import annotations

import importlib
import os
import sys
from dataclasses import dataclass
from typing import Any

import click

from binder.errors import BinderError
from binder.text import visible
from tui.served import asked, is_served, without_files

# name: (module, one line of help). The modules are imported when the command is run, so that
# `binder find` pays for no screen and no document.
COMMANDS = {
    "new": ("new", "Make an empty binder for a client."),
    "demo": ("demo", "Make a filled binder of an invented client, with its handoff document."),
    "load": ("data", "Add records from the JSON form, or from lines; all of it or nothing."),
    "change": ("change", "Set fields of a range of records in one step, after a preview."),
    "dump": ("data", "Write a binder in the JSON form."),
    "find": ("find", "Find anything by part of it."),
    "show": ("show", "Show a record, or list the records of a kind."),
    "trace": ("trace", "Show the path from a port to the carrier's circuit."),
    "topology": ("topology", "Show the network from each circuit to the edge, as a tree."),
    "trouble": ("trouble", "Show what to look at, in order, when something is down."),
    "impact": ("impact", "Show what goes dark if something fails, or the order to start in."),
    "headroom": ("headroom", "Show what is full, what fills next, and what an addition would do."),
    "closeout": ("closeout", "Show what is missing before the binder can be handed over."),
    "reading": ("reading", "Readings: what is usually read, added by hand or from CSV."),
    "review": ("review", "The quarterly review: what fills next, when, and what to do."),
    "log": ("log", "Read the maintenance log, or add a line to it."),
    "reveal": ("reveal", "Show a secret's value, after writing down who sees it and why."),
    "envelope": ("envelope", "The envelope of secrets: keyholders, values, who has seen what."),
    "history": ("history", "Show what changed, when, and by whom."),
    "attach": ("attach", "List the attachments, add a file, or write one to a folder."),
    "export": ("export", "Write a document: Markdown or HTML."),
    "unseal": ("unseal", "Show the secrets sealed into a document."),
    "verify": ("keep", "See whether a binder is whole."),
    "backup": ("keep", "Write a whole copy of a binder."),
    "shelf": ("shelf", "List the binders of a shelf, or find across all of them."),
}


@dataclass(frozen=True, slots=True)
class Session:
    """What was said before the command: in whose name, and whether anything may be written."""

    who: str | None
    read_only: bool
    mouse: bool
    served: bool = False  # a technician over SSH, with no other door to the host


class CommandTable(click.Group):
    """Commands by name; a first word that is none of them is a binder to open."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"tui.commands.{COMMANDS[cmd_name][0]}")
        command: click.Command = getattr(module, cmd_name)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args[0] in COMMANDS:
            name, command, rest = super().resolve_command(ctx, args)
            if command and is_served(ctx.params["who"]):
                command = without_files(command)
            return name, command, rest
        if len(args) > 1:
            import difflib

            near = difflib.get_close_matches(args[0], COMMANDS, 1)
            hint = f"; is it '{near[0]}'?" if near else ""
            raise click.UsageError(f"there is no command '{args[0]}'{hint}", ctx)
        from tui.commands.open import open_

        return "open", open_, args

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, help) for name, (_, help) in COMMANDS.items()])


@click.group(
    cls=CommandTable,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="`binder` alone opens the shelf; `binder NAME-OR-FILE` opens one binder. "
    "Example: binder find quillmere reception",
)
@click.option(
    "--who", metavar="NAME", help="Your name in the history (else BINDER_WHO, else login)."
)
@click.option("--read-only", is_flag=True, help="Change nothing.")
@click.option("--mouse", is_flag=True, help="Let the app take the mouse.")
@click.version_option(package_name="handoff-binder", prog_name="binder")
@click.pass_context
def binder(ctx: click.Context, who: str | None, read_only: bool, mouse: bool) -> Any:
    """One documentation binder per client: racks, patching, circuits, accounts, log, headroom."""
    ctx.obj = Session(who, read_only, mouse, is_served(who))
    if ctx.invoked_subcommand is not None:
        return None
    if ctx.obj.served and (words := asked()):
        del os.environ["SSH_ORIGINAL_COMMAND"]  # it is read once
        said = ["--who", str(who), *(["--read-only"] if read_only else [])]
        return binder.main([*said, *words], "binder", standalone_mode=False)
    from tui.commands.open import open_

    return ctx.invoke(open_, name=None)


def run(arguments: list[str]) -> int:
    """Run one command line; gives the exit status. Errors are one line on standard error."""
    try:
        status: Any = binder.main(arguments, prog_name="binder", standalone_mode=False)
    except click.exceptions.Abort:
        return _fail("stopped; nothing was changed", 130)
    except click.UsageError as error:
        path = error.ctx.command_path if error.ctx else "binder"
        return _fail(f"{error.format_message().rstrip('.')}; see '{path} --help'", 2)
    except click.ClickException as error:
        return _fail(error.format_message(), 2)
    except BinderError as error:
        return _fail(str(error), error.exit_status)
    except BrokenPipeError:  # the reader of a pipe had enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    return status if isinstance(status, int) else 0


def _fail(sentence: str, status: int) -> int:
    print(f"binder: {visible(sentence)}", file=sys.stderr)
    return status


def main() -> None:
    """Entry of the console script."""
    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
