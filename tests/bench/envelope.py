"""What the envelope costs: the derivation, which is meant to cost, and all else, which is not."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from binder.edit import Editor
from binder.envelope import ciphers
from binder.envelope.keys import RECOMMENDED
from binder.envelope.opened import create_envelope, open_envelope
from binder.envelope.secret_value import SecretValue
from binder.file import open_binder
from tests.bench.measures import seconds

SECRETS, LINES = 100, 1000  # a client of some years: 100 secrets, each seen now and then
_PASSPHRASE = SecretValue("kettle ladder moonrise")


@dataclass(frozen=True, slots=True)
class Cost:
    """`most_ms`, and `least_ms` where quicker is worse too, are what it may take."""

    what: str
    took_ms: float
    least_ms: float
    most_ms: float


def costs(path: Path, folder: Path) -> list[Cost]:
    """The derivation of a key, and what a filled envelope adds to opening the binder at `path`.

    The derivation is the least of several, as it is for whoever guesses at a passphrase.
    """
    filled = Path(shutil.copy(path, folder / "envelope.binder"))
    _fill(filled)
    without, with_it = _in_turns(lambda: _open(path), lambda: _open(filled), 15)
    with open_binder(filled) as binder:
        derived, opened = _in_turns(
            _derive, lambda: open_envelope(binder, _PASSPHRASE, who="bench"), 15
        )
    checked = f"opening the envelope, all but the derivation: a log of {LINES} lines is checked"
    beside = f"opening a binder, for an envelope of {SECRETS} secrets in it"
    return [
        Cost("derivation of a key (Argon2id, as recommended)", derived, 100, 1000),
        Cost(checked, opened - derived, 0, 5),
        Cost(beside, with_it - without, 0, 5),
    ]


def _fill(path: Path) -> None:
    with open_binder(path) as binder:
        with Editor(binder, "bench").step("secrets") as step:
            circuit = binder.connection.execute("SELECT id FROM circuit").fetchone()[0]
            ids = step.add_many(
                "secret",
                [{"identifier": f"secret {n}", "belongs_to": circuit} for n in range(SECRETS)],
            )
        envelope = create_envelope(binder, "shop team", _PASSPHRASE, who="bench")
        for secret_id in ids:
            envelope.put(secret_id, SecretValue(f"value of {secret_id}"))
        for _ in range(LINES // SECRETS - 1):
            envelope.hand_over(ids, "Front desk", "bench")


def _open(path: Path) -> None:
    open_binder(path).close()


def _derive() -> None:
    work = RECOMMENDED
    ciphers.argon2id(
        b"kettle ladder moonrise", bytes(16),
        memory_kib=work.memory_kib, passes=work.passes, lanes=work.lanes,
    )  # fmt: skip


def _in_turns(
    first: Callable[[], object], second: Callable[[], object], repeat: int
) -> tuple[float, float]:
    """The least time of each, in ms, taken in turns: a machine that slows down slows both."""
    times = [(seconds(first), seconds(second)) for _ in range(repeat)]
    return min(t for t, _ in times) * 1000, min(t for _, t in times) * 1000
