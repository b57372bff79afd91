"""`binder export`: a document as Markdown, HTML or PDF, with secrets sealed into it if asked."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from binder.errors import RequestError
from exporters.documents import DOCUMENTS, Options, document_kind
from tui.console import binder_argument, name_of_person, opened, say, tell
from tui.passphrase import Opening, descriptor, opening_options

if TYPE_CHECKING:
    from binder.envelope.secret_value import SecretValue
    from binder.file import BinderFile
    from exporters.house import Look
    from exporters.sealing import Sealing


@dataclass(frozen=True, slots=True)
class Wanted:
    """What to seal into the document, as said on the command line."""

    sealed: bool
    recipient: str
    named: tuple[str, ...]
    kept_by: str
    typed: bool
    from_fd: int | None
    to_fd: int | None

    def require_sound(self, opening: Opening, form: str) -> None:
        """Raises RequestError when it does not fit together, before anything is opened."""
        more = self.recipient or self.named or self.kept_by or self.typed or opening.said
        given = self.from_fd is not None
        if not self.sealed and (more or given or self.to_fd is not None):
            raise RequestError("secrets go into a document with --sealed only; add it")
        if not self.sealed:
            return
        if form != "html":
            raise RequestError(f"{form} cannot carry sealed secrets; leave out --format")
        if not self.recipient.strip():
            raise RequestError("--sealed needs --for NAME: the log says who the secrets went to")
        if self.typed and given:
            raise RequestError("give --type-passphrase or --handoff-passphrase-fd, not both")
        if self.to_fd is not None and (self.typed or given):
            raise RequestError("--handoff-passphrase-to-fd is for the passphrase that is made")

    @property
    def makes_passphrase(self) -> bool:
        return self.sealed and not self.typed and self.from_fd is None


def _sealing_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """The options that say what to seal; the command is given `wanted`."""

    @click.option(
        "--sealed", is_flag=True, help="Put secrets in, under a passphrase made for this document."
    )
    @click.option("--for", "recipient", metavar="NAME", default="", help="Who the secrets are for.")
    @click.option(
        "--secret",
        "named",
        metavar="NAME",
        multiple=True,
        help="This secret, or those of this account, circuit, device or SSID; again for more. "
        "Without it: all.",
    )
    @click.option("--kept-by", metavar="NAME", default="", help="Only those this one keeps.")
    @click.option(
        "--type-passphrase", "typed", is_flag=True, help="Type the document's passphrase."
    )
    @click.option(
        "--handoff-passphrase-fd",
        "from_fd",
        metavar="N",
        type=descriptor,
        help="Read it, one line, from this descriptor.",
    )
    @click.option(
        "--handoff-passphrase-to-fd",
        "to_fd",
        metavar="N",
        type=descriptor,
        help="Write the one made to this descriptor, not the screen.",
    )
    @functools.wraps(function)
    def gathered(
        *arguments: Any,
        sealed: bool,
        recipient: str,
        named: tuple[str, ...],
        kept_by: str,
        typed: bool,
        from_fd: int | None,
        to_fd: int | None,
        **others: Any,
    ) -> Any:
        wanted = Wanted(sealed, recipient, named, kept_by, typed, from_fd, to_fd)
        return function(*arguments, wanted=wanted, **others)

    return gathered


def _look_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """The options that say how it looks; the command is given `look`."""

    @click.option(
        "--house",
        "folder",
        type=click.Path(path_type=Path, file_okay=False),
        envvar="BINDER_HOUSE",
        metavar="FOLDER",
        help="Your templates/, logo.svg or logo.png, house.css; BINDER_HOUSE if not given.",
    )
    @click.option(
        "--paper",
        type=click.Choice(["a4", "letter"]),
        help="Of a PDF; as the client's units suggest, if not given.",
    )
    @functools.wraps(function)
    def gathered(*arguments: Any, folder: Path | None, paper: str | None, **others: Any) -> Any:
        from exporters.house import NO_HOUSE, Look, read_house

        if paper and others["form"] != "pdf":
            raise RequestError(f"--paper is for --format pdf; {others['form']} fits either")
        look = Look(read_house(folder) if folder else NO_HOUSE, paper or "")
        return function(*arguments, look=look, **others)

    return gathered


_SPELT = [name.replace(" ", "-") for name in DOCUMENTS]


def _document(ctx: click.Context, param: click.Parameter, value: str) -> str:
    """The name of a document: 'door sheet' or, so that no quotes are needed, 'door-sheet'."""
    return document_kind(value.replace("-", " ")).name


def _form(ctx: click.Context, param: click.Parameter, value: str | None) -> str:
    return value or document_kind(ctx.params["document"]).usual_form


def _spellings(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    return [name for name in _SPELT if name.startswith(incomplete)]


@click.command(
    epilog="Examples: binder export harrow handoff --format html --to out/; "
    "binder export harrow handoff --issue --copy-to 'Priya Nandakumar' --reason 'as installed'; "
    "binder export harrow handoff --sealed --for 'Priya Nandakumar'; "
    "binder export harrow door-sheet; binder export harrow punch-list --trade cabling; "
    "binder export harrow labels --only cords,1A-A --stock '63.5 x 38.1' --start 8; "
    "binder export harrow calendar; binder export harrow schedules"
)
@binder_argument
@click.argument(
    "document", metavar=f"{{{'|'.join(_SPELT)}}}", callback=_document, shell_complete=_spellings,
    is_eager=True,
)  # fmt: skip
@click.option(
    "--format",
    "form",
    type=click.Choice(["html", "markdown", "pdf", "csv", "ics"]),
    callback=_form,
    help="html, if not given; a calendar is ics, schedules are csv, labels html or csv.",
)
@click.option(
    "--to",
    "target",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path(),
    help="The folder it is written into; here, if not given.",
)
@click.option(
    "--issue",
    is_flag=False,
    flag_value="next",
    metavar="[N]",
    help="Release it: with the next number, into the register. With N: issue N, made again.",
)
@click.option("--issued-to", metavar="NAME", default="", help="For whom the issue is.")
@click.option("--reason", default="", help="Why it is issued: 'as installed'.")
@click.option("--copy-to", "holders", multiple=True, metavar="NAME", help="Who gets a copy.")
@click.option("--trade", default="", metavar="TRADE", help="Of the punch list: this trade's only.")
@click.option("--rack", default="", metavar="RACK", help="Whose door the door sheet is for.")
@click.option("--only", default="", metavar="WHAT", help="Of the labels: these kinds, or those at "
              "a rack, panel, room or cord; parted by commas.")  # fmt: skip
@click.option("--stock", default="", metavar="SIZE", help="What they are printed on, '63.5 x 38.1' "
              "or in full, in mm: 'a4 3x7 63.5x38.1 left 7.2 top 15.1 gap 2.5x0'.")  # fmt: skip
@click.option("--start", default=1, metavar="N", type=click.IntRange(min=1),
              help="The first label of a used sheet that is still there.")  # fmt: skip
@click.option("--with-attachments", type=click.Choice(["fitting", "all", "none"]), default=None,
              help="Photos in the handoff: those that fit into 8 MiB, if not given.")  # fmt: skip
@click.option("--date", "on", type=click.DateTime(["%Y-%m-%d"]), help="The date it bears; today.")
@_look_options
@_sealing_options
@opening_options
@click.pass_context
def export(
    ctx: click.Context,
    /,
    name: str,
    document: str,
    form: str,
    target: Path,
    on: date | None,
    issue: str | None,
    wanted: Wanted,
    look: Look,
    opening: Opening,
    trade: str,
    rack: str,
    only: str,
    stock: str,
    start: int,
    with_attachments: str | None,
    **release: Any,
) -> int:
    """Write a document into a folder; prints the files written. Without --issue it is a DRAFT.

    With --sealed it carries secrets, encrypted; each is logged as known to the one it is for.
    """
    wanted.require_sound(opening, form)
    today = on.date() if on is not None and hasattr(on, "date") else date.today()
    sealing: Sealing | None = None
    if wanted.sealed:
        binder, sealing = _sealing(ctx, name, wanted, opening)
    else:
        binder = opened(ctx, name, writing=issue == "next")
    options = Options(trade, rack, only, stock, start, with_attachments or "")
    made = Making(binder, document, form, target, today, sealing, options, look)
    is_next = issue == "next"
    written = _released(ctx, made, **release) if is_next else _made(made, _number(issue))
    if sealing is not None:
        _hand_out(wanted, sealing)
    for path in written:
        say(str(path))
    return 0


@dataclass(frozen=True, slots=True)
class Making:
    """What is made, in which form, where to, as of which day."""

    binder: BinderFile
    document: str
    form: str
    target: Path
    today: date
    sealing: Sealing | None
    options: Options
    look: Look


def _number(issue: str | None) -> int | None:
    if issue is None:
        return None
    if not issue.isdecimal() or not int(issue):
        raise RequestError(f"--issue {issue}: issues are numbered from 1; without a number, next")
    return int(issue)


def _made(made: Making, issue: int | None) -> tuple[Path, ...]:
    """A draft, or an issue made again, with a word on whether it is what was released."""
    from exporters.export import export as write
    from exporters.export import is_as_released

    written = write(
        made.binder, made.document, form=made.form, target=made.target, today=made.today,
        issue=issue, sealing=made.sealing, options=made.options, look=made.look,
    )  # fmt: skip
    if issue is not None and made.sealing is None:
        same = is_as_released(made.binder, made.document, issue, written)
        tell(
            f"the same bytes as issue {issue} was released with"
            if same
            else f"not the bytes that issue {issue} was released with: another format, trade, "
            "rack or house, or another version of this program made it"
        )
    return written


def _released(
    ctx: click.Context, made: Making, *, issued_to: str, reason: str, holders: tuple[str, ...]
) -> tuple[Path, ...]:
    from binder.edit import Editor
    from binder.issues import Recipient
    from exporters.export import release

    who = issued_to or (holders[0] if holders else "")
    recipients = [Recipient(holder, sealed_secrets=bool(made.sealing)) for holder in holders]
    released = release(
        Editor(made.binder, name_of_person(ctx)), made.document, form=made.form,
        target=made.target, today=made.today, issued_to=who, reason=reason,
        recipients=recipients, sealing=made.sealing, options=made.options, look=made.look,
    )  # fmt: skip
    tell(f"issue {released.issue.number} of the {made.document}, SHA-256 {released.sha256}")
    return released.files


def _sealing(
    ctx: click.Context, name: str, wanted: Wanted, opening: Opening
) -> tuple[BinderFile, Sealing]:
    """The secrets chosen, and the envelope open; nothing is handed over yet."""
    from exporters.sealing import Sealing, choose
    from tui.passphrase import binder_to_unlock, opened_envelope
    from tui.reveal import require_outlet

    if wanted.makes_passphrase:
        require_outlet(wanted.to_fd)
    binder = binder_to_unlock(ctx, name)
    chosen = choose(binder, wanted.named, wanted.kept_by)
    envelope = opened_envelope(ctx, binder, opening)
    if chosen.without_value:
        tell(f"not sealed, without a value: {', '.join(chosen.without_value)}")
    passphrase = _passphrase(wanted)
    return binder, Sealing(envelope, chosen.secret_ids, wanted.recipient, passphrase)


def _passphrase(wanted: Wanted) -> SecretValue:
    """The document's own passphrase: typed twice, read, or made."""
    from tui.passphrase import asked_twice, line_from

    if wanted.from_fd is not None:
        return line_from(wanted.from_fd)
    if wanted.typed:
        return asked_twice("passphrase of the document")
    from binder.envelope.passphrases import new_passphrase

    return new_passphrase().value


def _hand_out(wanted: Wanted, sealing: Sealing) -> None:
    """Show the passphrase that was made, once; it is kept nowhere."""
    from tui.reveal import show_new

    recipient = " ".join(sealing.recipient.split())
    if wanted.makes_passphrase:
        show_new(sealing.passphrase, f"passphrase for {recipient}", wanted.to_fd)
    number = len(sealing.secret_ids)
    tell(
        f"{number} secret{'s' * (number != 1)} sealed, and written down as known to {recipient}; "
        "give them the passphrase by another way than the file"
    )
