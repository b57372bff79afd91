"""Gaps of the handing over itself: punch items, training, drawings, copies."""

from __future__ import annotations

from collections.abc import Iterator

from binder.closeout.facts import Facts
from binder.closeout.gap import Found, rule

_TURNOVER = "WSU construction guide specification 27 05 00, 3.19 (acceptance)"


@rule(
    "punch-item-closed", "must",
    why="Acceptance waits for the defects to be corrected.",
    mend="Have it mended, and record who closed it and when.",
    basis=_TURNOVER,
)  # fmt: skip
def punch_item_closed(facts: Facts) -> Iterator[Found]:
    """Open punch items."""
    for item in facts.of("punch_item"):
        if not item["closed_on"]:
            due = item["due_on"]
            late = f", due {due}" if due and due < facts.today.isoformat() else ""
            yield Found(item, f"{item.name} {item['description']} ({item['trade']}{late})",
                        "closed_on")  # fmt: skip


@rule(
    "training-held", "must",
    why="The client signs that their people were shown the network.",
    mend="Hold the session, and record who came.",
    basis=_TURNOVER,
)  # fmt: skip
def training_held(facts: Facts) -> Iterator[Found]:
    """Sessions that acceptance asks for and that were not held, or have no list of who came."""
    for session in facts.all("training").values():
        if not session["required_for_acceptance"] or session["status"] == "former":
            continue
        held = session["held_on"]
        if not held or held > facts.today.isoformat():
            yield Found(session, f"'{session.name}' was not held", "held_on")
        elif not session["attendees"]:
            yield Found(session, f"'{session.name}': who came is not recorded", "attendees")


@rule(
    "drawing-current", "should",
    why="A drawing older than what it shows misleads more than none.",
    mend="Draw it again, or take a new photo.",
    basis="WSU construction guide specification 27 05 00, 1.8 (record drawings)",
)  # fmt: skip
def drawing_current(facts: Facts) -> Iterator[Found]:
    """Drawings and photos older than the last logged change of what they show."""
    for attachment in facts.of("attachment"):
        if attachment["form"] not in ("drawing", "photo") or attachment["subject"] is None:
            continue
        taken, changed = attachment["taken_on"], facts.last_change_logged.get(attachment["subject"])
        if changed and (not taken or taken < changed):
            says = f"'{attachment.name}' of {taken or 'no date'}, changed {changed}"
            yield Found(attachment, says, "taken_on")


@rule(
    "copy-recalled", "should",
    why="An old copy in the hands of somebody who left is read as if it were true.",
    mend="Recall it, or record that it is gone.",
    basis="NIST SP 800-53 rev. 5, CP-2 (copies distributed and protected)",
)  # fmt: skip
def copy_recalled(facts: Facts) -> Iterator[Found]:
    """Copies held by somebody who has left."""
    gone = {c.name for c in facts.all("contact").values() if c["status"] == "former"}
    for copy in facts.of("copy"):
        if copy["holder"] in gone and not copy["recalled_on"]:
            yield Found(copy, f"{copy.name} is still with {copy['holder']}", "recalled_on")


@rule(
    "known-issue-reviewed", "should",
    why="What was accepted for now becomes for ever unless somebody looks again.",
    mend="Look again: mend it, or accept it to a later day.",
)  # fmt: skip
def known_issue_reviewed(facts: Facts) -> Iterator[Found]:
    """Known issues past their day of review, or accepted by nobody."""
    for issue in facts.of("known_issue"):
        by = issue["review_by"]
        if not issue["accepted_by"]:
            yield Found(issue, f"'{issue.name}': nobody accepted it", "accepted_by")
        elif by and by < facts.today.isoformat():
            yield Found(issue, f"'{issue.name}' was to be reviewed by {by}", "review_by")
