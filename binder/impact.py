"""Impact: what goes dark when something fails or is unplugged.

What loses power (every feed dead, its source over the cabling dead, its UPS empty), what loses data
(no way left to a circuit), and what only loses redundancy: it works on, but a further failure of
one thing would now take it. Each with the chain of reasons from what failed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from math import inf
from typing import Literal

from binder.errors import RequestError
from binder.file import BinderFile
from binder.identifiers import natural_key
from binder.impact_graph import Network
from binder.impact_paths import Reached, reach, weakened
from binder.impact_power import Powered
from binder.read import names, resolve
from binder.records.catalog import BY_NAME

__all__ = ["FAILING", "Affected", "Impact", "Tally", "failing", "impact"]

# What can fail, in the order in which a name is taken to mean it.
FAILING = (
    "hardware", "port", "link", "cord", "circuit", "branch_circuit", "pathway", "rack", "space",
)  # fmt: skip

Loss = Literal["power", "data", "redundancy"]


@dataclass(frozen=True, slots=True)
class Cause:
    """One link of a chain of reasons."""

    id: int
    kind: str
    name: str
    how: str  # 'fails', 'has no power', 'is on battery', 'is cut off', 'has one way less'


@dataclass(frozen=True, slots=True)
class Affected:
    """A device, jack or circuit and what it loses. `after_min` is 0 for at once, else when the
    battery above it is empty. The chain begins with what failed and ends with this."""

    id: int
    kind: str
    name: str
    form: str
    space: str
    loses: Loss
    after_min: float
    chain: tuple[Cause, ...]


@dataclass(frozen=True, slots=True)
class OnBattery:
    """A UPS that loses its mains. `minutes` is None where nothing recorded tells how long."""

    id: int
    name: str
    minutes: float | None
    bound: str
    load_w: float | None


@dataclass(frozen=True, slots=True)
class Tally:
    """How many in one space, or of one kind, lose what."""

    name: str
    power: int
    data: int
    redundancy: int


@dataclass(frozen=True, slots=True)
class Impact:
    """The answer for one record. Lists are by name; `circuits_left` are those that still reach the
    site, empty when none does. `notes` are sentences on what else stops."""

    id: int
    kind: str
    name: str
    power: tuple[Affected, ...]
    data: tuple[Affected, ...]
    redundancy: tuple[Affected, ...]
    circuits_lost: tuple[str, ...]
    circuits_left: tuple[str, ...]
    on_battery: tuple[OnBattery, ...]
    by_space: tuple[Tally, ...]
    by_form: tuple[Tally, ...]
    notes: tuple[str, ...]

    @property
    def affected(self) -> tuple[Affected, ...]:
        return self.power + self.data + self.redundancy


def impact(
    binder: BinderFile,
    record_id: int,
    *,
    within_min: float = inf,
    today: date | None = None,
) -> Impact:
    """What is lost when that record's thing fails, as far as it happens within those minutes.

    Raises RequestError for what cannot fail, is planned, or is not in the binder.
    """
    with binder.reading() as connection:
        row = connection.execute(
            "SELECT kind, name FROM record WHERE id = ?", (record_id,)
        ).fetchone()
        if row is None:
            raise RequestError("that record is not in the binder any more; undo brings it back")
        kind, name = row
        failed = _failed(binder, record_id, kind, name)
        network = Network(connection)
        found = _Finding(binder, network, record_id, failed, within_min, today)
        return found.answer(kind, name)


def failing(binder: BinderFile, text: str) -> int:
    """The record that fails when `text` is typed: hardware before a port, and so on.

    Raises RequestError as `binder.read.resolve` does.
    """
    rows = binder.connection.execute("SELECT kind, id FROM record WHERE name = ?", (text.strip(),))
    ids = {row[0]: row[1] for row in rows}
    for kind in FAILING:
        if kind in ids:
            return int(ids[kind])
    return resolve(binder, text).id


def _failed(binder: BinderFile, record_id: int, kind: str, name: str) -> frozenset[int]:
    """The ids that fail with it: of a pathway its cables, of a rack or space what is in it."""
    if kind not in FAILING:
        what = BY_NAME[kind].label.lower()
        can = ", ".join(BY_NAME[each].label.lower() for each in FAILING)
        raise RequestError(f"'{name}' is a record of kind {what}: what can fail is {can}")
    status = binder.connection.execute(
        f"SELECT status FROM {kind} WHERE id = ?", (record_id,)
    ).fetchone()[0]
    if status not in ("installed", "spare"):
        raise RequestError(f"{name} is {status}: nothing hangs on it")
    sql = _CONTENTS.get(kind)
    rows = binder.connection.execute(sql, {"id": record_id}) if sql else ()
    return frozenset({record_id, *(row[0] for row in rows)})


_CONTENTS = {
    "pathway": "SELECT link_id FROM run WHERE pathway_id = :id",
    "rack": "SELECT id FROM hardware WHERE rack_id = :id",
    "space": "SELECT id FROM hardware WHERE space_id = :id "
    "OR rack_id IN (SELECT id FROM rack WHERE space_id = :id)",
}


_Chain = tuple[tuple[int, str], ...]  # what, and what happens to it


class _Finding:
    """One failure, looked through."""

    def __init__(
        self,
        binder: BinderFile,
        network: Network,
        record_id: int,
        failed: frozenset[int],
        within_min: float,
        today: date | None,
    ) -> None:
        self.binder, self.network, self.record_id = binder, network, record_id
        self.failed, self.within_min = failed, within_min
        self.today = today or datetime.now(UTC).date()
        self.batteries: dict[int, OnBattery] = {}
        self.power = Powered(network, failed, self._minutes)
        self.before = reach(network, (), ())
        self.until = {
            thing: self.power.until(thing)
            for thing in network.form_of
            if thing in failed or self.power.is_fed(thing)
        }
        self.after = self._reach_at(within_min)
        self.names: dict[int, tuple[str, str]] = {}
        self._ways: dict[int, _Chain] = {}  # of what is cut off, as found
        self._causes: dict[tuple[int, str], Cause] = {}

    # What happens. --------------------------------------------------------------------------

    def _minutes(self, ups_id: int) -> float:
        """How long a UPS lasts, with what is still up when the mains has gone."""
        if ups_id not in self.batteries:
            from binder.impact_battery import Batteries

            at_once = Powered(self.network, self.failed, lambda ups: inf)
            dead = {t for t in self.network.form_of if at_once.until(t) <= 0} | self.failed
            batteries = Batteries(self.binder, self.today, dead)
            for ups in at_once.on_battery:
                self.batteries[ups] = batteries.of(ups)
        return self.batteries[ups_id].minutes or 0.0

    def _dead_at(self, minutes: float) -> set[int]:
        """What has no power when so many minutes have gone."""
        return {thing for thing, until in self.until.items() if until < inf and until <= minutes}

    def _reach_at(self, minutes: float) -> Reached:
        return reach(self.network, self.failed, self._dead_at(minutes))

    def _losses(self) -> dict[int, tuple[Loss, float]]:
        """Device or jack -> what it loses, and after how many minutes."""
        lost: dict[int, tuple[Loss, float]] = {}
        for thing in self._dead_at(self.within_min):
            if thing != self.record_id:
                lost[thing] = "power", self.until[thing]
        cut = self.before.steps.keys() - self.after.steps.keys() - lost.keys() - {self.record_id}
        if cut:
            moments = sorted({0.0, *(u for u in self.until.values() if u <= self.within_min)})
            for moment in moments[:-1]:
                reached = self._reach_at(moment).steps
                lost |= {node: ("data", moment) for node in cut if node not in reached}
                cut = {node for node in cut if node in reached}
            lost |= {node: ("data", moments[-1]) for node in cut}
        return lost

    def _weaker(self, lost: Iterable[int]) -> set[int]:
        dead = self._dead_at(self.within_min)
        found = weakened(self.network, self.failed, dead, self.before)
        found |= {t for t in self.until if t not in dead and self.power.lost_feed(t)}
        return found.difference(lost)

    # What is told. --------------------------------------------------------------------------

    def answer(self, kind: str, name: str) -> Impact:
        lost = self._losses()
        everything: dict[int, tuple[Loss, float]] = dict(lost)
        everything |= {node: ("redundancy", 0.0) for node in self._weaker(lost)}
        chains = {node: self._chain(node, loss) for node, (loss, _) in everything.items()}
        gone = set(self.before.circuits) - set(self.after.circuits)
        self._name(everything, chains, gone)
        affected = sorted(
            (self._affected(node, *loss, chains[node]) for node, loss in everything.items()),
            key=lambda each: (each.after_min, natural_key(each.name)),
        )
        return Impact(
            id=self.record_id,
            kind=kind,
            name=name,
            power=tuple(each for each in affected if each.loses == "power"),
            data=tuple(each for each in affected if each.loses == "data"),
            redundancy=tuple(each for each in affected if each.loses == "redundancy"),
            circuits_lost=tuple(sorted(self._called(circuit) for circuit in gone)),
            circuits_left=tuple(self._called(circuit) for circuit in self.after.circuits),
            on_battery=tuple(self.batteries.values()),
            by_space=tuple(_tallies(affected, "space")),
            by_form=tuple(_tallies(affected, "form")),
            notes=tuple(self._notes(lost)),
        )

    def _name(
        self,
        everything: Iterable[int],
        chains: dict[int, _Chain],
        gone: set[int],
    ) -> None:
        """Ask for every name once."""
        wanted = {self.record_id, *everything, *gone, *self.after.circuits}
        wanted |= {node for chain in chains.values() for node, _ in chain}
        wanted |= {space for space in self.network.space_of.values() if space is not None}
        wanted |= {d.recorder_id for d in self.network.devices.values() if d.recorder_id}
        wanted |= {subnet for _, subnet in self.network.dhcp_subnets}
        found = names(self.binder, wanted)
        self.names = {node: (each.kind, each.name) for node, each in found.items()}

    def _affected(self, node: int, loss: Loss, after_min: float, chain: _Chain) -> Affected:
        kind, name = self.names[node]
        owner = self.network.owner_of.get(node, node)
        space = self.network.space_of.get(owner)
        return Affected(
            id=node,
            kind=kind,
            name=name,
            form="jack" if kind == "port" else self.network.form_of.get(node, kind),
            space=self.names[space][1] if space is not None else "",
            loses=loss,
            after_min=after_min,
            chain=tuple(map(self._cause, chain)),
        )

    def _cause(self, link: tuple[int, str]) -> Cause:
        if link not in self._causes:
            at, how = link
            self._causes[link] = Cause(at, *self.names[at], how)
        return self._causes[link]

    def _chain(self, node: int, loss: Loss) -> _Chain:
        """From what failed to this, each with what happens to it."""
        if loss == "power":
            return self._power_chain(node)
        if loss == "redundancy":
            return (self.record_id, "fails"), (node, "has one way less")
        below = []
        while node not in self._ways:
            below.append(node)
            step = self.before.steps[node]
            parts = step.run.parts if step.run else ()
            if step.run is None or step.from_id in self.failed or self.failed.intersection(parts):
                above: _Chain = ((self.record_id, "fails"),)
                break
            if self._is_dead(step.from_id):
                above = self._power_chain(step.from_id)
                break
            node = step.from_id
        else:
            above = self._ways[node]
        for node in reversed(below):
            above = self._ways[node] = (*above, (node, "is cut off"))
        return above

    def _is_dead(self, thing: int) -> bool:
        until = self.until.get(thing, inf)
        return until < inf and until <= self.within_min

    def _power_chain(self, node: int) -> _Chain:
        """Up from what has no power, by the feed that held longest, to what failed."""
        chain: dict[int, str] = {}
        at = node
        while at not in chain and at not in self.failed and (at == node or self._is_dead(at)):
            chain[at] = "is empty" if at in self.batteries else "has no power"
            at = max(self.power.feeders(at), key=self.power.until, default=at)
        return (self.record_id, "fails"), *reversed(chain.items())

    def _notes(self, lost: dict[int, tuple[Loss, float]]) -> Iterator[str]:
        gone = lost.keys() | self.failed
        filmed = Counter(d.recorder_id for d in self.network.devices.values() if d.recorder_id)
        for recorder_id, cameras in filmed.items():
            if recorder_id in gone:
                yield f"{self._called(recorder_id)} records none of its {cameras} cameras"
        subnets = [subnet for server, subnet in self.network.dhcp_subnets if server in gone]
        if subnets:
            told = ", ".join(sorted(self._called(subnet) for subnet in subnets))
            yield f"no DHCP lease is given or renewed in {told}"
        if not self.before.steps:
            yield "no circuit's hand-off and no gateway is recorded: nothing is known of data"
        elif not self.network.circuits:
            yield "no circuit's hand-off is recorded: ways are reckoned to the gateway"

    def _called(self, record_id: int) -> str:
        return self.names[record_id][1]


def _tallies(affected: Iterable[Affected], by: str) -> Iterator[Tally]:
    counts: Counter[tuple[str, str]] = Counter()
    for each in affected:
        counts[each.space if by == "space" else each.form, each.loses] += 1
    for name in sorted({name for name, _ in counts}, key=natural_key):
        yield Tally(name, *(counts[name, loss] for loss in ("power", "data", "redundancy")))
