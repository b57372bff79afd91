"""Who is at the keyboard: the name that stands in the history beside each change."""

from __future__ import annotations

import getpass
import os
from collections.abc import Mapping


def who(given: str | None, environment: Mapping[str, str] = os.environ) -> str:
    """`given` (--who), else BINDER_WHO, else the login name with the SSH client's address."""
    named = (given or environment.get("BINDER_WHO", "")).strip()
    if named:
        return named.encode(errors="replace").decode()  # bytes that are no text become '?'
    try:
        login = getpass.getuser()
    except (KeyError, OSError):  # an account without an entry in the password database
        login = "unknown"
    client = environment.get("SSH_CONNECTION", "").split(" ")[0]
    return f"{login} from {client}" if client else login
