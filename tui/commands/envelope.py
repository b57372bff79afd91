"""`binder envelope`: making and opening it, its keyholders, its values, and what its log tells.

The parts: this module, the envelope itself and its keyholders; `envelope_values`, values put in
and discarded; `envelope_reports`, what needs no passphrase.
"""

from __future__ import annotations

from dataclasses import dataclass
from shlex import quote

import click

from binder.errors import Fault, RequestError
from tui.commands import envelope_reports, envelope_values
from tui.console import (
    binder_argument,
    json_option,
    name_of_person,
    opened,
    say,
    say_json,
    say_table,
    tell,
)
from tui.passphrase import (
    NewPassphrase,
    Opening,
    binder_to_unlock,
    new_key_file,
    new_passphrase,
    new_passphrase_options,
    opened_envelope,
    opening_options,
)


class _InOrder(click.Group):
    """Commands in the order in which an envelope is lived with."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)


@click.group(
    cls=_InOrder,
    epilog="Examples: binder envelope make harrow 'shop team'; binder envelope leaver harrow "
    "'K. Brandt'. Passphrases come from a prompt, a descriptor, or the file that "
    "BINDER_PASSPHRASE_FILE names, which only its owner may read.",
)
def envelope() -> None:
    """The envelope: where the values of secrets are kept, encrypted.

    Exit status 4 when it does not open. `binder reveal` shows a value.
    """


# The envelope itself. ---------------------------------------------------------------------


@envelope.command(
    epilog="Examples: binder envelope make harrow 'shop team'; "
    "binder envelope make harrow 'shop team' --generate --new-key-file /media/stick/harrow.key"
)
@binder_argument
@click.argument("keyholder")
@new_passphrase_options
@click.pass_context
def make(ctx: click.Context, name: str, keyholder: str, new: NewPassphrase) -> None:
    """Make the envelope, with the first KEYHOLDER's passphrase."""
    from binder.envelope import has_envelope
    from binder.envelope.opened import create_envelope

    binder = opened(ctx, name, writing=True)
    if has_envelope(binder):
        raise RequestError("this binder has an envelope; `binder envelope add` adds a keyholder")
    passphrase = new_passphrase(new, keyholder)
    made = create_envelope(
        binder, keyholder, passphrase, who=name_of_person(ctx), key_file=new_key_file(new)
    )
    made.seal()
    tell(
        f"made; {made.keyholder} opens it. Add a second keyholder, as the client's safe: "
        "a lost passphrase cannot be recovered"
    )


@dataclass(frozen=True, slots=True)
class Checked:
    """What was found. The log's count and MAC, noted elsewhere, prove later that it is this log."""

    faults: tuple[Fault, ...]
    log_lines: int
    log_mac: str


@envelope.command(epilog="Example: binder envelope check harrow")
@binder_argument
@json_option
@opening_options
@click.pass_context
def check(ctx: click.Context, name: str, as_json: bool, opening: Opening) -> int:
    """See whether it opens and is whole; status 1 if not.

    Line by line of its log, its keyholders, and every value.
    """
    opened_ = opened_envelope(ctx, binder_to_unlock(ctx, name), opening)
    answer = Checked(opened_.check(every_value=True), *opened_.head())
    if as_json:
        say_json(answer)
    else:
        for fault in answer.faults:
            say(str(fault))
        many = len(answer.faults)
        say(f"opens; {f'{many} faults' if many else 'whole'}")
        say(f"its log has {answer.log_lines} lines, MAC {answer.log_mac}")
    return 1 if answer.faults else 0


@envelope.command(epilog="Example: binder envelope renew harrow --why 'K. Brandt left'")
@binder_argument
@click.option("--why", default="", help="The reason, as the log is to tell it.")
@opening_options
@click.pass_context
def renew(ctx: click.Context, name: str, why: str, opening: Opening) -> None:
    """Encrypt everything anew; every passphrase stays.

    After someone left: change the passphrases they knew first. What they copied before stays
    readable to them; `binder envelope leaver` lists what to rotate.
    """
    number = opened_envelope(ctx, binder_to_unlock(ctx, name), opening).renew(why)
    tell(f"renewed; this is data key {number}")


# Keyholders. ------------------------------------------------------------------------------


@envelope.command(epilog="Example: binder envelope keyholders harrow")
@binder_argument
@json_option
@click.pass_context
def keyholders(ctx: click.Context, name: str, as_json: bool) -> None:
    """List who may open it; needs no passphrase."""
    from binder.envelope import reports

    binder = opened(ctx, name)
    found = reports.keyholders(binder)
    if as_json:
        say_json(found)
        return
    if not found:
        say("there is no envelope yet; `binder envelope make` makes one")
        return
    zone = envelope_reports.Clock(binder)
    say_table(
        ("Keyholder", "Set", "By", "Needs", "A guess costs"),
        [
            (k.name, zone(k.added_at), k.added_by,
             "passphrase and key file" if k.key_file else "passphrase",
             f"{k.memory_mib:g} MiB, {k.passes} passes")
            for k in found
        ],
    )  # fmt: skip


@envelope.command(epilog="Example: binder envelope add harrow 'client escrow'")
@binder_argument
@click.argument("new_keyholder")
@new_passphrase_options
@opening_options
@click.pass_context
def add(
    ctx: click.Context, name: str, new_keyholder: str, new: NewPassphrase, opening: Opening
) -> None:
    """Let NEW_KEYHOLDER open it too, by a passphrase of their own."""
    opened_ = opened_envelope(ctx, binder_to_unlock(ctx, name), opening)
    passphrase = new_passphrase(new, new_keyholder)
    opened_.add_keyholder(new_keyholder, passphrase, key_file=new_key_file(new))
    tell(f"{new_keyholder} opens it too")


@envelope.command(epilog="Example: binder envelope change harrow 'shop team' --generate")
@binder_argument
@click.argument("whose", metavar="KEYHOLDER")
@new_passphrase_options
@opening_options
@click.pass_context
def change(ctx: click.Context, name: str, whose: str, new: NewPassphrase, opening: Opening) -> None:
    """Give a keyholder a new passphrase; anyone who can open it may.

    A key file is needed from now on only if --new-key-file names one, be it the same.
    """
    from binder.envelope import reports

    binder = binder_to_unlock(ctx, name)
    there = {k.name.casefold(): k for k in reports.keyholders(binder)}
    if there and whose.casefold() not in there:
        names = ", ".join(k.name for k in there.values())
        raise RequestError(f"no keyholder is named '{whose}'; there are: {names}")
    opened_ = opened_envelope(ctx, binder, opening)
    passphrase = new_passphrase(new, whose)
    opened_.change_keyholder(whose, passphrase, key_file=new_key_file(new))
    tell(
        "changed; if the old passphrase may be known, renew too: "
        f"binder envelope renew {quote(name)}"
    )


@envelope.command(epilog="Example: binder envelope rename harrow 'shop team' 'Lowfield shop'")
@binder_argument
@click.argument("whose", metavar="KEYHOLDER")
@click.argument("new_name")
@opening_options
@click.pass_context
def rename(ctx: click.Context, name: str, whose: str, new_name: str, opening: Opening) -> None:
    """Call a keyholder something else; the passphrase stays."""
    opened_envelope(ctx, binder_to_unlock(ctx, name), opening).rename_keyholder(whose, new_name)
    tell(f"{whose} is now {new_name}")


@envelope.command(epilog="Example: binder envelope remove harrow 'old shop'")
@binder_argument
@click.argument("whose", metavar="KEYHOLDER")
@opening_options
@click.pass_context
def remove(ctx: click.Context, name: str, whose: str, opening: Opening) -> None:
    """Take a keyholder's passphrase away; never the last one's."""
    opened_envelope(ctx, binder_to_unlock(ctx, name), opening).remove_keyholder(whose)
    tell(
        "removed; they may have kept the data key, so renew it: "
        f"binder envelope renew {quote(name)}"
    )


for _command in (*envelope_values.COMMANDS, *envelope_reports.COMMANDS):
    envelope.add_command(_command)
