"""`python -m tests.bench`: how fast the program is, each figure beside its floor.

Prints a Markdown table; `RESULTS.md` beside this file keeps the last one.
"""

from __future__ import annotations

import platform
import sqlite3
import tempfile
from datetime import date
from pathlib import Path

from tests.bench import envelope, measures, page, review, shelf, terminal
from tests.bench.generate import generate


def main() -> None:
    """Generate the large binder, measure, print."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / "bench.binder"
        generate(path)
        paint, memory_mib = measures.first_paint(path)
        figures = [
            measures.find_process(path, "desk 3899"),
            measures.tracing(path, "1A-A007"),
            measures.full_headroom(path),
            measures.impact_of(path, "SW5"),
            measures.impact_of(path, "SW1"),
            paint,
            measures.loading(path, folder),
            measures.handoff(path, folder),
        ]
        clients = folder / "clients"
        shelf.many_clients(clients)
        indexed_s, looked_s = shelf.refreshing(clients)
        figures += shelf.finding(clients)
        figures.append(review.of_the_demo(folder))
        over_shelf, grown_mib = review.reviewing(clients)
        figures += over_shelf
        costs = envelope.costs(path, folder)
        counts = terminal.counts(path)
        pauses, page_mib = page.pauses(path, folder)
        size_mib = path.stat().st_size / 2**20
    print(
        f"{date.today()}, {platform.machine()}, {_processor()}, Python {platform.python_version()},"
    )
    print(f"SQLite {sqlite3.sqlite_version}; a binder of 10,700 ports, {size_mib:.0f} MiB.\n")
    print("| what | ours, ms | floor, ms | floor | times | goal |")
    print("|---|---:|---:|---|---:|---:|")
    for figure in figures:
        print(
            f"| {figure.what} | {figure.ours_s * 1000:.2f} | {figure.floor_s * 1000:.2f} "
            f"| {figure.floor} | {figure.times:.2f} | {figure.goal:g} |"
        )
    print(f"\nA shelf's review grows by {grown_mib:.1f} MiB for each 100 binders.")
    print("\n| what the envelope costs | ms | goal, ms |")
    print("|---|---:|---:|")
    for cost in costs:
        print(f"| {cost.what} | {cost.took_ms:.1f} | {cost.least_ms:g} to {cost.most_ms:g} |")
    print(f"\n| at a terminal of {terminal.CELLS} | ours | floor | floor | goal |")
    print("|---|---:|---:|---|---:|")
    for count in counts:
        print(
            f"| {count.what} | {count.ours:.{_digits(count.ours)}f} {count.unit} "
            f"| {count.floor_is:.{_digits(count.floor_is)}f} | {count.floor} | {count.goal:g} |"
        )
    print(f"\n| pauses of Chromium, a page of {page_mib:.1f} MiB | least, ms | median, ms ", end="")
    print("| without scripts: least, ms | median, ms | goal |\n|---|---:|---:|---:|---:|---:|")
    for pause in pauses:
        print(
            f"| {pause.what} | {pause.least_ms:.0f} | {pause.median_ms:.0f} "
            f"| {pause.floor_least_ms:.0f} | {pause.floor_median_ms:.0f} | {page.GOAL_MS:g} |"
        )
    print(f"\nThe index of {shelf.BINDERS} binders: made in {indexed_s:.1f} s; seen to be true in")
    print(f"{looked_s * 1000:.1f} ms when no binder has changed.")
    print(f"\nPeak memory of the app on that binder: {memory_mib:.0f} MiB (goal 150).")


def _digits(number: float) -> int:
    return 0 if number >= 100 else 1


def _processor() -> str:
    lines = Path("/proc/cpuinfo").read_text().splitlines() if Path("/proc/cpuinfo").exists() else []
    models = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    return f"{len(models)} x {models[0]}" if models else platform.processor()


if __name__ == "__main__":
    main()
