"""Optical links: loss, splitters, received power within its window, and passive-network classes.

Loss adds up: fibre, mated pairs, splices, splitters. Greatest losses of components: ANSI/TIA-568.3
edition D (from memory; all are defaults, to be replaced by those of the plant). Classes: ITU-T
G.984.2 (B+, C+) and G.9807.1 (N1). Light in fibre has its own caution: `cautions.LASERS`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import log10
from types import MappingProxyType
from typing import Final, Literal

from binder.engineering.figures import Step, plain, require, require_above

MATED_PAIR_DB: Final = 0.75
SPLICE_DB: Final = 0.3
DESIGN_MARGIN_DB: Final = 3.0  # kept for repair and age: FOA guide (from memory)

# dB/km by fibre and wavelength. Two standards differ on OS2: ISO/IEC 11801 has 0.4.
_ATTENUATION_DB_KM: Final[Mapping[tuple[str, int], float]] = MappingProxyType(
    {
        ("OM1", 850): 3.5, ("OM1", 1300): 1.5,
        ("OM2", 850): 3.5, ("OM2", 1300): 1.5,
        ("OM3", 850): 3.0, ("OM3", 1300): 1.5,
        ("OM4", 850): 3.0, ("OM4", 1300): 1.5,
        ("OM5", 850): 3.0, ("OM5", 953): 2.3, ("OM5", 1300): 1.5,
        ("OS1", 1310): 1.0, ("OS1", 1550): 1.0,
        ("OS2", 1310): 0.5, ("OS2", 1550): 0.5,
    }
)  # fmt: skip

# Greatest losses in makers' catalogues (from memory, little sure).
_SPLITTER_DB: Final[Mapping[int, float]] = MappingProxyType(
    {2: 4.0, 4: 7.4, 8: 10.7, 16: 13.8, 32: 17.2, 64: 21.0}
)

Verdict = Literal["too weak", "thin", "good", "too strong"]


@dataclass(frozen=True, slots=True)
class Part:
    """Parts of one sort along a link: `quantity` of them, or km of fibre, at `each_db`."""

    what: str
    quantity: float
    each_db: float


@dataclass(frozen=True, slots=True)
class Loss:
    """The loss of a link in dB, unrounded, and how it adds up."""

    loss_db: float
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Receiver:
    """The window of a receiver: the least it hears and the most it bears, in dBm."""

    sensitivity_dbm: float
    overload_dbm: float


@dataclass(frozen=True, slots=True)
class Received:
    """Power at a receiver. Margins are to sensitivity and to overload; negative is outside."""

    power_dbm: float
    margin_db: float
    overload_margin_db: float
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class PassiveClass:
    """A class of passive optical network: loss range, least launch, windows, path penalties.

    `head` is the carrier's end (OLT), `far` the client's (ONT).
    """

    least_loss_db: float
    most_loss_db: float
    head_launch_dbm: tuple[float, float]
    far_launch_dbm: tuple[float, float]
    head: Receiver
    far: Receiver
    penalty_down_db: float
    penalty_up_db: float


# B+: G.984.2 amendment 1; C+: G.984.2; N1: G.9807.1. Loss ranges, penalties, the launch of C+ and
# N1 far ends and the receiver of the N1 head from memory.
PASSIVE_CLASSES: Final[Mapping[str, PassiveClass]] = MappingProxyType(
    {
        "GPON B+": PassiveClass(
            13, 28, (1.5, 5), (0.5, 5), Receiver(-28, -8), Receiver(-27, -8), 0.5, 0.5
        ),
        "GPON C+": PassiveClass(
            17, 32, (3, 7), (0.5, 5), Receiver(-32, -12), Receiver(-30, -8), 1.0, 0.5
        ),
        "XGS-PON N1": PassiveClass(
            14, 29, (2, 5), (4, 9), Receiver(-26, -5), Receiver(-28, -9), 1.0, 1.0
        ),
    }
)


@dataclass(frozen=True, slots=True)
class EthernetOptic:
    """An optical port of IEEE 802.3: least and most launch, window, and greatest channel loss."""

    launch_dbm: tuple[float, float]
    receiver: Receiver
    most_loss_db: float


# IEEE 802.3 clauses 38, 59 and 52. Channel losses, the whole of 1000BASE-LX, and the receiver of
# 10GBASE-SR from memory.
ETHERNET_OPTICS: Final[Mapping[str, EthernetOptic]] = MappingProxyType(
    {
        "1000BASE-SX": EthernetOptic((-9.5, 0), Receiver(-17, 0), 3.56),
        "1000BASE-LX": EthernetOptic((-11, -3), Receiver(-19, -3), 4.57),
        "1000BASE-LX10": EthernetOptic((-9, -3), Receiver(-19.5, -3), 6.0),
        "10GBASE-SR": EthernetOptic((-7.3, -1), Receiver(-9.9, -1), 2.6),
        "10GBASE-LR": EthernetOptic((-8.2, 0.5), Receiver(-14.4, 0.5), 6.2),
    }
)


def dbm(power_mw: float) -> float:
    """10 log10 of milliwatts (definition). Raises ValueError for a power not above 0 mW."""
    require_above("optical power", power_mw, "mW")
    return 10 * log10(power_mw)


def milliwatts(power_dbm: float) -> float:
    """`dbm` the other way. Raises ValueError outside -100 to 60 dBm."""
    require("optical power", power_dbm, "dBm", -100, 60)
    return float(10 ** (power_dbm / 10))


def attenuation_db_km(fibre: str, wavelength_nm: int) -> float:
    """The greatest loss of a fibre, in dB/km (ANSI/TIA-568.3-D, from memory).

    Raises ValueError for a fibre and wavelength without a figure.
    """
    key = (fibre.strip().upper(), wavelength_nm)
    if key not in _ATTENUATION_DB_KM:
        raise ValueError(f"fibre {fibre!r} at {wavelength_nm} nm: no figure is known")
    return _ATTENUATION_DB_KM[key]


def splitter_ideal_db(ways: int) -> float:
    """The loss of an even split without any other: 10 log10 n. Raises ValueError below 1."""
    require("splitter ways", ways, "", 1)
    return 10 * log10(ways)


def splitter_typical_db(ways: int) -> float:
    """The loss to reckon with for a splitter of that many ways, in dB (catalogues, from memory).

    Raises ValueError for other than 2, 4, 8, 16, 32 or 64 ways.
    """
    if ways not in _SPLITTER_DB:
        raise ValueError(f"splitter of {ways} ways: 2, 4, 8, 16, 32 or 64")
    return _SPLITTER_DB[ways]


def link_parts(
    fibre: str, wavelength_nm: int, length_m: float, mated_pairs: int, splices: int
) -> tuple[Part, ...]:
    """The parts of a plain link at the greatest loss each may have (ANSI/TIA-568.3-D, from memory).

    Raises ValueError for a negative length or count, or as `attenuation_db_km` does.
    """
    require("fibre length", length_m, "m")
    require("mated pairs", mated_pairs, "")
    require("splices", splices, "")
    each_km = attenuation_db_km(fibre, wavelength_nm)
    return (
        Part(f"km of {fibre} at {wavelength_nm} nm", length_m / 1000, each_km),
        Part("mated pairs", mated_pairs, MATED_PAIR_DB),
        Part("splices", splices, SPLICE_DB),
    )


def link_loss(parts: Iterable[Part]) -> Loss:
    """The loss of a link: quantity x loss of each of its parts, added.

    Raises ValueError for a negative quantity or loss.
    """
    steps = []
    for part in parts:
        require(part.what, part.quantity, "")
        require(f"loss of {part.what}", part.each_db, "dB")
        working = f"{plain(part.quantity)} × {plain(part.each_db)} dB"
        steps.append(Step(part.what, working, part.quantity * part.each_db, "dB"))
    total_db = sum(step.value for step in steps)
    working = " + ".join(plain(step.value) for step in steps) or "nothing"
    return Loss(total_db, (*steps, Step("loss", working, total_db, "dB")))


def received(
    power_dbm: float, receiver: Receiver, design_margin_db: float = DESIGN_MARGIN_DB
) -> Received:
    """Where a power lies in a receiver's window.

    Outside it is 'too weak' or 'too strong'; inside but with less than the design margin 'thin'. On
    an edge counts as inside. Raises ValueError for a window that is none, or a negative margin.
    """
    require("received power", power_dbm, "dBm", -100, 60)
    require("design margin", design_margin_db, "dB")
    if not receiver.sensitivity_dbm < receiver.overload_dbm:
        raise ValueError(
            f"receiver {receiver.sensitivity_dbm:g} to {receiver.overload_dbm:g} dBm: sensitivity "
            "lies below overload"
        )
    margin_db = power_dbm - receiver.sensitivity_dbm
    overload_db = receiver.overload_dbm - power_dbm
    verdict: Verdict = "good"
    if margin_db < -1e-9:
        verdict = "too weak"
    elif overload_db < -1e-9:
        verdict = "too strong"
    elif margin_db < design_margin_db - 1e-9:
        verdict = "thin"
    return Received(power_dbm, margin_db, overload_db, verdict)


def loss_in_class(loss_db: float, class_name: str) -> str:
    """What is wrong with a loss for a class of passive network; '' when nothing is.

    The range has a lower end as well: less loss can overload the receiver. Raises ValueError for a
    negative loss or a class that is not known.
    """
    require("loss", loss_db, "dB")
    if class_name not in PASSIVE_CLASSES:
        raise ValueError(f"class {class_name!r} is not known: {', '.join(PASSIVE_CLASSES)}")
    known = PASSIVE_CLASSES[class_name]
    if loss_db > known.most_loss_db + 1e-9:
        return f"{plain(loss_db)} dB is above the {plain(known.most_loss_db)} dB of {class_name}"
    if loss_db < known.least_loss_db - 1e-9:
        return f"{plain(loss_db)} dB is below the {plain(known.least_loss_db)} dB of {class_name}"
    return ""
