"""Gaps of the cabling: identifiers, ports, both ends of everything, tests."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from binder.closeout.facts import Facts
from binder.closeout.gap import Found, rule
from binder.identifiers import check
from binder.read import Record

_CHECKED: Final = {"space": "space", "rack": "rack", "link": "link"}
_TESTS: Final = "WSU construction guide specification 27 05 00, 3.15 (test all, keep failures)"


@rule(
    "identifier-in-scheme", "should",
    why="One identity on label, record, test file and drawing is what a later search relies on.",
    mend="Rename it after the scheme, or choose the client's own scheme on the client's sheet.",
    basis="ANSI/TIA-606 (value from memory)",
)  # fmt: skip
def identifier_in_scheme(facts: Facts) -> Iterator[Found]:
    """Telecommunications spaces, racks and links whose identifiers do not read as TIA-606."""
    if facts.client is None or facts.client["identifier_scheme"] != "ANSI/TIA-606":
        return
    for kind in _CHECKED:
        for record in facts.of(kind):
            if kind == "space" and record["form"] in ("room", "outdoors"):
                continue
            wrong = check(record.name)
            if wrong:
                yield Found(record, f"{record.name}: {wrong}", "identifier")


@rule(
    "port-accounted-for", "should",
    why="A port that nobody can account for is found by toning, at the client's cost.",
    mend="Record what is behind it, or that it is spare, bad or reserved.",
    basis="ANSI/TIA-606 termination records (value from memory)",
)  # fmt: skip
def port_accounted_for(facts: Facts) -> Iterator[Found]:
    """Panel ports that are neither linked nor said to be spare, bad, reserved or unterminated."""
    panels = {one.id for one in facts.of("hardware") if one["form"] == "patch panel"}
    for port in facts.of("port"):
        if port["hardware"] not in panels or port.id in facts.links or port.id in facts.cords:
            continue
        said = port["status"] == "spare" or port["condition"] == "bad" or port["reserved_for"]
        if not said and not port["unterminated_pairs"]:
            yield Found(port, f"{port.name}: nothing behind it, and not said to be spare", "status")


@rule(
    "bad-port-explained", "should",
    why="Whoever is told that a port is bad has to know why, to mend it or leave it alone.",
    mend="Say why it is bad.",
)  # fmt: skip
def bad_port_explained(facts: Facts) -> Iterator[Found]:
    """Ports marked bad without a reason."""
    for port in facts.of("port"):
        if port["condition"] == "bad" and not port["condition_reason"]:
            yield Found(port, f"{port.name} is bad: no reason given", "condition_reason")


@rule(
    "link-both-ends", "must",
    why="A link with one end cannot be traced, labelled or tested.",
    mend="Set the end that is missing, or mark the link abandoned.",
    basis="WSU construction guide specification 27 05 00, 3.14 (both ends labelled)",
)  # fmt: skip
def link_both_ends(facts: Facts) -> Iterator[Found]:
    """Installed links that lack an end."""
    for link in facts.of("link"):
        for field, called in (("port_a", "panel end"), ("port_b", "far end")):
            if link[field] is None and link["status"] == "installed":
                yield Found(link, f"{link.name} has no {called}", field)


@rule(
    "link-described", "should",
    why="Without its length and category nobody can tell whether the channel holds.",
    mend="Record length and category from the cable's jacket or the test report.",
    basis="ANSI/TIA-606 link record (value from memory)",
)  # fmt: skip
def link_described(facts: Facts) -> Iterator[Found]:
    """Installed links without a length or a category."""
    for link in facts.of("link"):
        for field in ("length_m", "category"):
            if link[field] is None:
                label = link.kind.field(field).label.lower()
                yield Found(link, f"{link.name} has no {label}", field)


def _last_tests(facts: Facts) -> dict[int, Record]:
    """The last test of each link."""
    found: dict[int, Record] = {}
    for test in sorted(facts.of("test"), key=lambda test: (test["tested_on"], test.name)):
        found[test["link"]] = test
    return found


@rule(
    "link-tested", "must",
    why="A link that was not tested since it was last changed is only believed to work.",
    mend="Test it and record the result; a link of others may be waived.",
    basis=_TESTS,
)  # fmt: skip
def link_tested(facts: Facts) -> Iterator[Found]:
    """Installed links without a test that passed and is newer than their last change."""
    last = _last_tests(facts)
    for link in facts.of("link"):
        if link["status"] not in ("installed", "spare") or link["port_b"] is None:
            continue
        test = last.get(link.id)
        changed = link["changed_on"] or link["installed_on"] or ""
        given = {"link": link.id, "tested_on": facts.today.isoformat()}
        if test is None:
            yield Found(link, f"{link.name} was never tested", adds="test", given=given)
        elif test["tested_on"] < changed:
            says = f"{link.name}: tested {test['tested_on']}, changed {changed}"
            yield Found(link, says, adds="test", given=given | {"follows": test.id})
        elif test["result"] == "fail":
            says = f"{link.name} failed on {test['tested_on']}"
            yield Found(link, says, adds="test", given=given | {"follows": test.id})


@rule(
    "marginal-test-explained", "should",
    why="A marginal pass is accepted only where the length was meant to be so.",
    mend="Say why it is accepted, or mend and retest.",
    basis="WSU telecommunications design guide, 4.11 (marginal passes)",
)  # fmt: skip
def marginal_test_explained(facts: Facts) -> Iterator[Found]:
    """Last tests that passed marginally without a reason."""
    for test in _last_tests(facts).values():
        if test["result"] == "marginal" and not test["marginal_reason"]:
            link = facts.all("link").get(test["link"])
            of = f" of {link.name}" if link else ""
            yield Found(test, f"{test.name}{of} is marginal: no reason given", "marginal_reason")


@rule(
    "instrument-calibrated", "must",
    why="A result of an instrument out of calibration that day proves nothing.",
    mend="Name the instrument and its calibration, or test again.",
    basis=_TESTS,
)  # fmt: skip
def instrument_calibrated(facts: Facts) -> Iterator[Found]:
    """Last tests whose instrument was not in calibration on the day, or is not named."""
    instruments = facts.all("instrument")
    for test in _last_tests(facts).values():
        if test["result"] == "fail":
            continue
        instrument = instruments.get(test["instrument"] or 0)
        if instrument is None:
            yield Found(test, f"{test.name}: no instrument named", "instrument")
            continue
        begins, ends = instrument["calibrated_on"], instrument["calibration_due_on"]
        if begins is None and ends is None:
            yield Found(test, f"{test.name}: calibration of {instrument.name} not recorded",
                        "instrument")  # fmt: skip
        elif (begins and test["tested_on"] < begins) or (ends and test["tested_on"] > ends):
            says = f"{test.name} of {test['tested_on']}: {instrument.name} out of calibration"
            yield Found(test, says, "instrument")


@rule(
    "failure-followed-up", "must",
    why="Failed results are kept, and each is followed by a retest that passes.",
    mend="Retest the link; the failed result stays.",
    basis=_TESTS,
)  # fmt: skip
def failure_followed_up(facts: Facts) -> Iterator[Found]:
    """Failed tests of links that no later test follows."""
    followed = {test["follows"] for test in facts.of("test")}
    last = _last_tests(facts)
    for test in facts.of("test"):
        if test["result"] != "fail" or test.id in followed:
            continue
        if last[test["link"]].id == test.id:
            continue  # link-tested says that it failed
        given = {"link": test["link"], "follows": test.id, "tested_on": facts.today.isoformat()}
        yield Found(test, f"{test.name} failed and no test follows it", adds="test", given=given)


@rule(
    "cable-abandoned-tagged", "should",
    why="Cable left for later is tagged as such; otherwise it is abandoned and must come out.",
    mend="Tag it for future use, or take it out where it can be reached.",
    basis="NEC 800.25 and kin (value from memory); the code in force decides",
)  # fmt: skip
def cable_abandoned_tagged(facts: Facts) -> Iterator[Found]:
    """Abandoned links that could be taken out and are still there, or are not tagged."""
    for link in facts.all("link").values():
        if link["status"] == "abandoned" and not link["tagged_for_use"]:
            yield Found(link, f"{link.name} is abandoned and not tagged", "tagged_for_use")


@rule(
    "firestop-recorded", "must",
    why="Every rated wall or floor opened for cable gets its rating back with a tested system.",
    mend="Name the listed system; have it sealed by whoever is qualified under the local code.",
    basis="NEC 300.21 (value from memory); the building code in force decides",
)  # fmt: skip
def firestop_recorded(facts: Facts) -> Iterator[Found]:
    """Firestops without the listed system they are made after."""
    for firestop in facts.of("firestop"):
        if not firestop["system"]:
            yield Found(firestop, f"{firestop.name} names no listed system", "system")


@rule(
    "bonding-labelled", "must",
    why="Bonding conductors carry a do-not-disconnect warning: without them people can be hurt.",
    mend="Put the warning label on, and say so.",
    basis="WSU construction guide specification 27 05 26 (labels of bonding conductors)",
)  # fmt: skip
def bonding_labelled(facts: Facts) -> Iterator[Found]:
    """Bonding conductors that are not said to carry the warning label."""
    for conductor in facts.of("bonding_conductor"):
        if not conductor["warning_label"]:
            yield Found(conductor, f"{conductor.name}: no warning label recorded", "warning_label")
