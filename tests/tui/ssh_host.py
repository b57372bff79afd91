"""A host with a real sshd on loopback, set up as the README says, and a technician's ssh client."""

from __future__ import annotations

import getpass
import os
import socket
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from time import monotonic, sleep

from tests.pseudo_terminal import PATIENCE_S, PseudoTerminal
from tests.system import needs

_CONFIG = """
Port {port}
ListenAddress 127.0.0.1
HostKey {folder}/host_key
AuthorizedKeysFile {folder}/authorized_keys
PidFile {folder}/sshd.pid
StrictModes no
UsePAM no
PasswordAuthentication no
PermitRootLogin forced-commands-only
PermitUserEnvironment no
SetEnv PATH={path} BINDER_SHELF={shelf} XDG_STATE_HOME={folder}/state
"""


@dataclass(frozen=True, slots=True)
class Host:
    """The host; `lines` are those of its `authorized_keys`, by technician."""

    folder: Path
    port: int
    lines: Mapping[str, str] = field(default_factory=dict)

    def client(self, who: str, *words: str, terminal: bool = True) -> list[str]:
        """The ssh command line of a technician."""
        return [
            needs("ssh"), "-tt" if terminal else "-T", "-p", str(self.port),
            "-i", str(self.folder / who), "-F", "none",
            "-o", "StrictHostKeyChecking=no", "-o", "LogLevel=ERROR",
            "-o", f"UserKnownHostsFile={self.folder}/known_hosts", "-o", "IdentitiesOnly=yes",
            f"{getpass.getuser()}@127.0.0.1", *words,
        ]  # fmt: skip

    def session(self, who: str, *words: str, columns: int = 80, lines: int = 24) -> PseudoTerminal:
        """A technician's session, in a terminal of that size."""
        env = {"TERM": "xterm-256color", "PATH": os.environ["PATH"], "LANG": "C.UTF-8"}
        return PseudoTerminal(self.client(who, *words), env, columns=columns, lines=lines)

    def ask(self, who: str, *words: str) -> subprocess.CompletedProcess[str]:
        """What ssh gives a technician who asks without a terminal."""
        client = self.client(who, *words, terminal=False)
        return subprocess.run(
            client, capture_output=True, text=True, timeout=60, stdin=subprocess.DEVNULL
        )


@contextmanager
def ssh_host(folder: Path, shelf: Path, lines: Mapping[str, str]) -> Iterator[Host]:
    """Start sshd with a key for each technician; `lines` are what stands before the key."""
    _make_key(folder / "host_key")
    keys = []
    for who, options in lines.items():
        _make_key(folder / who)
        keys.append(f"{options} {(folder / f'{who}.pub').read_text()}")
    (folder / "authorized_keys").write_text("".join(keys))
    port = _free_port()
    path = f"{Path(sys.executable).parent}:/usr/bin:/bin"
    config = folder / "sshd_config"
    config.write_text(_CONFIG.format(port=port, folder=folder, shelf=shelf, path=path))
    if os.getuid() == 0:
        Path("/run/sshd").mkdir(exist_ok=True)
    log = folder / "sshd.log"
    with log.open("w") as out:
        server = subprocess.Popen([needs("sshd"), "-D", "-e", "-f", config], stderr=out)
    try:
        _wait_until_it_listens(port, log)
        yield Host(folder, port, lines)
    finally:
        server.terminate()
        server.wait()


def _make_key(path: Path) -> None:
    subprocess.run(
        [needs("ssh-keygen"), "-q", "-t", "ed25519", "-N", "", "-f", str(path)], check=True
    )


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
    return port


def _wait_until_it_listens(port: int, log: Path) -> None:
    end = monotonic() + PATIENCE_S
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            return
        except OSError:
            assert monotonic() < end, f"sshd did not start: {log.read_text()}"
            sleep(0.05)
