"""The envelope: secrets encrypted in the binder, and the log of who was shown them.

FORMAT.md, in this folder, has the byte-exact format and the threat model. The parts:

    opened.py         making and opening an envelope; what can be done while it is open
    reports.py        who has seen what, what to rotate, who opened; needs no passphrase
    passphrases.py    advice on passphrases, and new ones
    passwords.py      new passwords for devices, and how to read one over the phone
    one_time.py       one-time codes
    wifi.py           Wi-Fi keys as QR codes
    sealed.py         secrets sealed into a document, which a browser opens
    secret_value.py   what holds a value in memory
    ciphers.py, keys.py, log.py, rows.py, carried.py    beneath these

Nothing here is imported but by what uses the envelope: `cryptography` is loaded with it.
"""

from binder.file import BinderFile


def has_envelope(binder: BinderFile) -> bool:
    """Whether an envelope was made in this binder."""
    return binder.connection.execute("SELECT 1 FROM envelope").fetchone() is not None
