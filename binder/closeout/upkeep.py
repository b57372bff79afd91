"""Gaps of upkeep: batteries, spares, duties that are overdue, renewals that ran out."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from binder.closeout.facts import Facts
from binder.closeout.gap import Found, rule
from binder.engineering.battery import replace_by
from binder.upkeep import next_due

_USUAL_LIFE_YEARS = 4.0  # three to five years: common practice, no published source


@rule(
    "battery-age", "must",
    why="An old battery fails in seconds, when it is needed. Battery work is for trained persons.",
    mend="Record when it was installed; have it replaced when its life is over.",
    basis="IEEE 1188 practice of replacing by age and capacity (value from memory)",
)  # fmt: skip
def battery_age(facts: Facts) -> Iterator[Found]:
    """UPSs whose battery has no date, or is past its expected life."""
    for ups in facts.of("hardware"):
        if ups["form"] != "UPS":
            continue
        installed = ups["battery_installed_on"]
        if not installed:
            yield Found(ups, f"{ups.name}: no date of its battery", "battery_installed_on")
            continue
        life = ups["battery_life_years"] or _USUAL_LIFE_YEARS
        due = replace_by(date.fromisoformat(installed), life)
        if due < facts.today:
            says = f"{ups.name}: battery of {installed} was due {due.isoformat()}"
            yield Found(ups, says, "battery_installed_on")


@rule(
    "spare-there", "should",
    why="The part that is not on the shelf takes its lead time.",
    mend="Order what is missing.",
    basis="NIST SP 800-53 rev. 5, MA-6 (timely maintenance)",
)  # fmt: skip
def spare_there(facts: Facts) -> Iterator[Found]:
    """Spares below the least quantity."""
    for spare in facts.of("spare"):
        if spare["quantity"] < (spare["least_quantity"] or 0):
            says = f"{spare.name}: {spare['quantity']} of {spare['least_quantity']}"
            yield Found(spare, says, "quantity")


@rule(
    "duty-done", "should",
    why="Upkeep that was put off is what the outage is blamed on.",
    mend="Do it, and record the day and the result.",
)  # fmt: skip
def duty_done(facts: Facts) -> Iterator[Found]:
    """Duties that are overdue."""
    for duty in facts.of("duty"):
        done = date.fromisoformat(duty["done_on"]) if duty["done_on"] else None
        due = next_due(duty["rule"], date.fromisoformat(duty["starts_on"]), done)
        if due is not None and due < facts.today:
            yield Found(duty, f"{duty.name} was due {due.isoformat()}", "done_on")


@rule(
    "renewal-in-time", "must",
    why="A domain or certificate that ran out takes mail and web with it.",
    mend="Renew it, and record when it is next due.",
)  # fmt: skip
def renewal_in_time(facts: Facts) -> Iterator[Found]:
    """Renewals that are past, or whose notice is due and which do not renew by themselves."""
    for renewal in facts.of("renewal"):
        on = date.fromisoformat(renewal["renews_on"])
        notice = on - timedelta(days=renewal["notice_days"] or 0)
        if on < facts.today:
            yield Found(renewal, f"{renewal.name} ran out {on.isoformat()}", "renews_on")
        elif notice <= facts.today and not renewal["automatic"]:
            yield Found(renewal, f"{renewal.name} renews {on.isoformat()}", "renews_on")
