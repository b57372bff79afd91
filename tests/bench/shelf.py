"""A shelf of many clients to measure on: one small binder, copied and changed by plain edits."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from binder.edit import Editor
from binder.file import create, open_binder
from binder.read import client
from binder.shelf_find import find_in
from binder.shelf_index import ShelfIndex
from tests.bench.measures import Figure, best, seconds

BINDERS = 500
_OF_A_CLIENT = 20  # pieces of hardware, each with its address: MACs locally administered


def many_clients(folder: Path) -> None:
    """500 binders: 20 pieces of hardware, 20 addresses, two contacts and two circuits each."""
    folder.mkdir()
    first = folder / "client-000.binder"
    create(first, "Client 000").close()
    for number in range(BINDERS):
        path = folder / f"client-{number:03}.binder"
        if number:
            shutil.copy(first, path)
        _fill(path, number)


def _fill(path: Path, number: int) -> None:
    """The first is filled, its copies are changed: the same records, other names and numbers."""
    with open_binder(path, look_through=False) as binder:
        kept = {
            kind: [
                row[0]
                for row in binder.connection.execute(
                    "SELECT id FROM record WHERE kind = ? ORDER BY position", (kind,)
                )
            ]
            for kind in ("contact", "circuit", "hardware", "address")
        }
        sheet = client(binder)
        assert sheet is not None
        with Editor(binder, "bench").step("build") as step:
            step.change(sheet.id, {"identifier": f"Client {number:03}"})
            for kind, rows in _records(number).items():
                if not kept[kind]:
                    step.add_many(kind, rows)
                for record_id, row in zip(kept[kind], rows, strict=False):
                    step.change(record_id, row)


def _records(number: int) -> dict[str, list[dict[str, object]]]:
    local = range(_OF_A_CLIENT)
    return {
        "contact": [
            {"identifier": f"Person {number:03} {at}", "role": "manager",
             "mobile_phone": f"+1 312 {number:03} 01{at:02}"} for at in range(2)
        ],
        "circuit": [
            {"identifier": f"circuit {at}", "service": "internet access",
             "circuit_id": f"CKT-{number:03}-{at:02}-XQ", "account_number": f"{number}-4410-{at}",
             "support_phone": "+1 312 555 0160"} for at in range(2)
        ],
        "hardware": [
            {"identifier": f"SW{at}", "form": "switch", "serial": f"NV{number:03}-{at:04}",
             "management_address": f"10.{number % 250}.10.{at}"} for at in local
        ],
        "address": [
            {"ip": f"10.{number % 250}.20.{at}", "mac": f"02-00-00-{number // 250:02X}-"
             f"{number % 250:02X}-{at:02X}", "hostname": f"station-{number:03}-{at:02}"}
            for at in local
        ],
    }  # fmt: skip


_MATCHED = re.compile(r"MATCH '((?:[^']|'')*)'")
_BARE = "SELECT rowid FROM search WHERE search MATCH ? ORDER BY bm25(search, 10, 1, 5) LIMIT 50"


def finding(folder: Path) -> list[Figure]:
    """Find in an index that stands, against the FTS5 queries of the same phrases, bare."""
    with ShelfIndex.open(folder) as index:
        index.refresh()
        return [
            _finding(index, text)
            for text in ("312 411 0101", "02:00:00:01:a1:07", "CKT-411-01", "station 411 07")
        ]


def _finding(index: ShelfIndex, text: str) -> Figure:
    asked: list[str] = []
    index.connection.set_trace_callback(asked.append)
    assert find_in(index, text), text
    index.connection.set_trace_callback(None)
    phrases = [
        phrase.replace("''", "'")
        for sql in asked
        if "'main'.'search_" not in sql
        for phrase in _MATCHED.findall(sql)
    ]

    def bare() -> None:
        for phrase in phrases:
            index.connection.execute(_BARE, (phrase,)).fetchall()

    return Figure(
        f"find '{text}' in {BINDERS} binders",
        best(lambda: seconds(lambda: find_in(index, text)), 30),
        "its FTS5 queries, bare",
        best(lambda: seconds(bare), 30),
        2,
    )


def refreshing(folder: Path) -> tuple[float, float]:
    """Seconds to make the index of all binders, and to see that none changed."""
    with ShelfIndex.open(folder) as index:
        return seconds(index.refresh), best(lambda: seconds(index.refresh), 5)
