"""What the commands that write many records share: the kind by name, the preview, the faults."""

from __future__ import annotations

import difflib

from binder.errors import FaultsError, RequestError
from binder.proposal import Proposal
from binder.records.catalog import BY_NAME, BY_PLURAL
from binder.records.fields import Kind
from tui.console import say_table, tell

_MOST_FAULTS = 200  # lines of them


def kind_named(text: str) -> Kind:
    """The kind of a word, singular or plural. Raises RequestError."""
    key = text.strip().lower().replace("-", "_").replace(" ", "_")
    kind = BY_PLURAL.get(key) or BY_NAME.get(key)
    if kind is None:
        near = difflib.get_close_matches(key, BY_PLURAL, 3) or list(BY_PLURAL)
        raise RequestError(f"no record kind '{text}'; there are: {', '.join(near)}")
    return kind


def say_proposal(proposal: Proposal) -> None:
    """The preview, on standard output: a line a record."""
    kind = BY_NAME[proposal.kind]
    rows = [
        (one.name, "; ".join((*(f"! {fault.says}" for fault in one.faults), one.words)))
        for one in proposal.records
    ]
    say_table((kind.label, "What becomes of it"), rows)


def tell_faults(proposal: Proposal, hint: str = "") -> int:
    """The faults, on standard error; gives the exit status."""
    for fault in proposal.faults[:_MOST_FAULTS]:
        tell(str(fault))
    count = len(proposal.faults)
    if count > _MOST_FAULTS:
        tell(f"... and {count - _MOST_FAULTS} more")
    faults = "1 fault" if count == 1 else f"{count} faults"
    tell(f"binder: {faults}; nothing was changed{hint}")
    return FaultsError.exit_status
