"""Which secrets go with a record: its own, and those of what it is reached by or is for."""

from __future__ import annotations

from typing import NamedTuple

from binder.file import BinderFile

_SQL = """
    SELECT s.id, r.name, s.form, o.name,
           (SELECT max(version) FROM secret_version WHERE secret_id = s.id) AS version
    FROM secret s JOIN record r ON r.id = s.id JOIN record o ON o.id = s.belongs_to_id
    WHERE s.id = :id OR s.belongs_to_id = :id OR s.belongs_to_id IN (
        SELECT id FROM account WHERE hardware_id = :id OR circuit_id = :id
        UNION SELECT circuit_id FROM account WHERE id = :id
        UNION SELECT hardware_id FROM account WHERE id = :id)
    ORDER BY s.status = 'former', s.belongs_to_id <> :id, r.name
"""


class Kept(NamedTuple):
    """A secret; `version` of its newest value, 0 when the envelope holds none."""

    id: int
    name: str
    form: str
    belongs_to: str
    version: int


def secrets_of(binder: BinderFile, record_id: int) -> tuple[Kept, ...]:
    """The secrets of an account, circuit, hardware, SSID or contact, its own first.

    With a circuit or hardware go those of its accounts, and with an account those of the circuit
    or hardware it is for: whoever finds the carrier's portal wants the circuit's PIN. A secret is
    its own.
    """
    found = binder.connection.execute(_SQL, {"id": record_id})
    return tuple(
        Kept(secret_id, name, form, of, version or 0)
        for secret_id, name, form, of, version in found
    )
