"""What someone would add, as they type it: a line a thing.

    2 x storage server: 2U, 150 W each, in 1A-R1, from UPS1
    4 x door controller: 802.3bt type 3, on SW2
    outdoor camera

A name that is a template of the binder brings the template's figures; what is typed wins.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from binder.errors import RequestError
from binder.file import BinderFile
from binder.read import read_where
from binder.records.catalog import BY_NAME
from binder.records.quantities import parse_quantity

MOST: Final = 500  # of one thing: more is a slip of the keyboard

_FORMS: Final = BY_NAME["hardware"].field("form").choices
_COUNT: Final = re.compile(r"(?P<count>\d+)\s*[x×*]\s+(?P<rest>.+)", re.IGNORECASE)
# Classes that the generations of the standard are known for (IEEE 802.3-2022).
_GENERATIONS: Final = {"802.3af": 3, "802.3at": 4, "802.3bt": 6}
_TYPES: Final = {"1": 3, "2": 4, "3": 6, "4": 8}
# Kinds that take a port where nothing says how many.
_WIRED: Final = (
    "switch", "gateway", "access point", "camera", "recorder", "phone", "door controller",
    "server", "storage", "printer", "workstation",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Addition:
    """So many of one thing. Figures of each are those of a hardware record, None where not told.

    `place` is a rack or a space, `switch` what it plugs into, `feed` the UPS, strip or branch
    circuit, `recorder` what records it, `subnet` where its address is from: names, '' for the
    program to choose.
    """

    count: int
    name: str
    form: str
    values: Mapping[str, Any] = field(default_factory=dict)
    ports: int = 0
    addresses: int = 0
    place: str = ""
    switch: str = ""
    feed: str = ""
    recorder: str = ""
    subnet: str = ""

    def __str__(self) -> str:
        return f"{self.count} x {self.name}"

    @property
    def is_powered_by_cable(self) -> bool:
        return "poe_class" in self.values or "poe_drawn_w" in self.values


def parse(binder: BinderFile, text: str, *, system: str) -> tuple[Addition, ...]:
    """The additions that the lines stand for; empty lines and those that begin with # are skipped.

    `system` says what a bare number with a unit of length or weight left out would mean. Raises
    RequestError naming the line and what is understood.
    """
    templates = {record.name.casefold(): record.values for record in _templates(binder)}
    found = []
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip() and not line.lstrip().startswith("#"):
            try:
                found.append(_addition(line.strip(), templates, system))
            except ValueError as error:
                raise RequestError(f"line {number}: {error}") from error
    if not found:
        raise RequestError("nothing to add: write a line a thing, like '2 x camera: class 3'")
    return tuple(found)


def _templates(binder: BinderFile) -> Any:
    return read_where(binder, BY_NAME["template"], "t.status = 'current'")


def _addition(line: str, templates: Mapping[str, Mapping[str, Any]], system: str) -> Addition:
    head, _, tail = line.partition(":")
    counted = _COUNT.fullmatch(head.strip())
    count = int(counted["count"]) if counted else 1
    name = (counted["rest"] if counted else head).strip()
    if not 1 <= count <= MOST:
        raise ValueError(f"{count} x {name}: from 1 to {MOST} of a thing")
    if not name:
        raise ValueError(f"'{line}' names nothing")
    found = _from_template(count, name, templates.get(name.casefold()))
    for part in re.split(r"[,;]", tail):
        if part.strip():
            found = _with_part(found, " ".join(part.split()), system)
    if not found.ports and (found.is_powered_by_cable or found.form in _WIRED):
        found = replace(found, ports=1)
    if found.ports and not found.addresses:
        found = replace(found, addresses=1)
    return found


def _from_template(count: int, name: str, template: Mapping[str, Any] | None) -> Addition:
    if template is None:
        return Addition(count, name, _form_in(name))
    kept = ("height_u", "depth_mm", "weight_kg", "base_power_w", "poe_budget_w", "poe_class",
            "bit_rate_mbps")  # fmt: skip
    return Addition(
        count,
        name,
        template["form"],
        {key: template[key] for key in kept if template[key] is not None},
        template["ports_needed"] or 0,
        template["addresses_needed"] or 0,
    )


def _form_in(name: str) -> str:
    """The kind that a name tells: the longest that stands in it."""
    words = name.casefold()
    told = [form for form in _FORMS if form.casefold() in words]
    return max(told, key=len, default="other")


# The parts of a line. -----------------------------------------------------------------------

_Part = Callable[[Addition, re.Match[str], str], Addition]


def _value(name: str, unit: str) -> _Part:
    def set_value(found: Addition, said: re.Match[str], system: str) -> Addition:
        return _set(found, name, parse_quantity(said["value"], unit, system))

    return set_value


def _named(where: str) -> _Part:
    def set_name(found: Addition, said: re.Match[str], system: str) -> Addition:
        told: dict[str, Any] = {where: said["value"].strip()}
        return replace(found, **told)

    return set_name


def _set(found: Addition, name: str, value: Any) -> Addition:
    return replace(found, values={**found.values, name: value})


def _generation(found: Addition, said: re.Match[str], system: str) -> Addition:
    of_type = said["type"]
    return _set(found, "poe_class", _TYPES[of_type] if of_type else _GENERATIONS[said["value"]])


_PARTS: Final[tuple[tuple[str, _Part], ...]] = (
    (r"(?P<value>\d+) ?U", lambda f, m, s: _set(f, "height_u", int(m["value"]))),
    (r"(?:PoE )?class (?P<value>[0-8])", lambda f, m, s: _set(f, "poe_class", int(m["value"]))),
    (r"(?P<value>802\.3(?:af|at|bt))(?: type (?P<type>[1-4]))?", _generation),
    (r"(?P<value>PoE) type (?P<type>[1-4])", _generation),
    (r"(?:PoE budget (?P<value>.+? ?k?W)|(?P<value_>.+? ?k?W) PoE budget)",
     lambda f, m, s: _set(f, "poe_budget_w", parse_quantity(m["value"] or m["value_"], "w", s))),
    (r"(?P<value>[\d.]+ ?W) (?:over )?PoE", _value("poe_drawn_w", "w")),
    (r"(?P<value>[\d.]+ ?k?W)", _value("base_power_w", "w")),
    (r"(?P<value>[\d.]+ ?[kMG]?b(?:/s|ps))", _value("bit_rate_mbps", "mbps")),
    (r"(?P<value>[\d.]+ ?(?:kg|lbs?))", _value("weight_kg", "kg")),
    (r"(?P<value>[\d./ ]+ ?(?:mm|cm|m|in|ft|\")) deep", _value("depth_mm", "mm")),
    (r"(?P<value>\d+) ports?", lambda f, m, s: replace(f, ports=int(m["value"]))),
    (r"(?P<value>\d+) addresses|1 address",
     lambda f, m, s: replace(f, addresses=int(m["value"] or 1))),
    (r"(?P<value>[\d.]+) ?h(?:ours)? a day",
     lambda f, m, s: _set(f, "recorded_hours_a_day", float(m["value"]))),
    (r"in (?P<value>.+)", _named("place")),
    (r"on (?P<value>.+)", _named("switch")),
    (r"(?:from|fed by) (?P<value>.+)", _named("feed")),
    (r"(?:recorded by|to) (?P<value>.+)", _named("recorder")),
    (r"subnet (?P<value>.+)", _named("subnet")),
    (rf"(?P<value>{'|'.join(map(re.escape, _FORMS))})",
     lambda f, m, s: replace(f, form=_form_of(m["value"]))),
)  # fmt: skip
_UNDERSTOOD: Final = (
    "2U, 150 W, 18 kg, 560 mm deep, class 4, 802.3bt type 3, 12 W PoE, PoE budget 370 W, 2 ports, "
    "2 addresses, 4 Mb/s, 12 hours a day, in 1A-R1, on SW1, from UPS1, to REC1, subnet staff, "
    "or a kind like camera"
)


def _form_of(text: str) -> str:
    return next(form for form in _FORMS if form.casefold() == text.casefold())


def _with_part(found: Addition, part: str, system: str) -> Addition:
    bare = re.sub(r"\s+(?:each|a piece)$", "", part, flags=re.IGNORECASE)
    for pattern, apply in _parts():
        said = pattern.fullmatch(bare)
        if said is not None:
            return apply(found, said, system)
    raise ValueError(f"'{part}' is not understood; write {_UNDERSTOOD}")


def _parts() -> Iterator[tuple[re.Pattern[str], _Part]]:
    for pattern, apply in _PARTS:
        yield re.compile(pattern, re.IGNORECASE), apply
