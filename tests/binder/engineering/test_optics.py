"""Optical links against equipment guides, ITU-T G.984.2 and G.9807.1, IEEE 802.3."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from binder.engineering.optics import (
    ETHERNET_OPTICS,
    PASSIVE_CLASSES,
    Part,
    Receiver,
    attenuation_db_km,
    dbm,
    link_loss,
    link_parts,
    loss_in_class,
    milliwatts,
    received,
    splitter_ideal_db,
    splitter_typical_db,
)


def loss_db(*parts: tuple[float, float]) -> float:
    return link_loss(Part("part", quantity, each) for quantity, each in parts).loss_db


@pytest.mark.parametrize(
    ("parts", "total_db"),
    [
        # An optical loss test set's manual, page 44: TIA-568 and ISO/IEC 11801, ends of 0.75 dB
        ([(0.842, 3.5), (1, 0.2), (2, 0.45), (2, 0.75)], 5.547),
        # the same page: limit by ISO/IEC 14763-3, ends of reference grade
        ([(0.842, 3.5), (1, 0.2), (2, 0.45), (2, 0.3)], 4.647),
        # A router's hardware guide: multimode, higher-order-mode loss 0.5
        ([(2, 1.0), (5, 0.5), (2, 0.5), (1, 0.5)], 6.0),
        ([(2, 1.0), (5, 0.5), (2, 0.5), (1, 0.5), (1, 1.0)], 7.0),
        # the same: single mode
        ([(8, 0.5), (7, 0.5)], 7.5),
        # A switch's guide: two kinds of fibre, 2.2 dB where they meet
        ([(1, 1.75), (1, 3.0), (1, 0.3), (1, 0.6), (1, 2.2)], 7.85),
        # A mainframe maker's link planning guide: mean loss, single mode
        ([(2, 0.35), (2, 0.15), (0.21, 0.8), (19.76, 0.5)], 11.048),
    ],
)
def test_worked_link_losses(parts: list[tuple[float, float]], total_db: float) -> None:
    """Published worked examples of makers' guides."""
    assert loss_db(*parts) == pytest.approx(total_db, abs=1e-9)


@pytest.mark.parametrize(
    ("fibre_db_km", "pair_db", "total_db"),
    [(3, 0.3, 7.8), (1, 0.3, 3.8), (0.4, 0.3, 2.6), (0.3, 0.3, 2.4), (3.5, 0.75, 11.05)],
)
def test_the_fibre_optic_associations_example(
    fibre_db_km: float, pair_db: float, total_db: float
) -> None:
    """FOA reference guide, hybrid example (from memory): 2 km, 5 connections, 1 splice."""
    assert loss_db((2, fibre_db_km), (5, pair_db), (1, 0.3)) == pytest.approx(total_db)


def test_a_link_at_the_standards_greatest_losses() -> None:
    """ANSI/TIA-568.3-D (from memory): 0.75 dB a mated pair, 0.3 a splice, 3.0 dB/km of OM3."""
    assert link_loss(link_parts("OM3", 850, 300, 2, 1)).loss_db == pytest.approx(0.9 + 1.5 + 0.3)
    assert str(link_loss(link_parts("OM3", 850, 300, 2, 1)).steps[0]) == (
        "km of OM3 at 850 nm: 0.3 × 3 dB = 0.9 dB"
    )


@pytest.mark.parametrize(
    ("fibre", "losses"),
    [
        ("om1", {850: 3.5, 1300: 1.5}),
        ("OM2", {850: 3.5, 1300: 1.5}),
        ("OM3", {850: 3.0, 1300: 1.5}),
        ("OM4", {850: 3.0, 1300: 1.5}),
        ("OM5", {850: 3.0, 953: 2.3, 1300: 1.5}),
        ("OS1", {1310: 1.0, 1550: 1.0}),
        ("OS2", {1310: 0.5, 1550: 0.5}),
    ],
)
def test_the_greatest_loss_of_a_fibre(fibre: str, losses: dict[int, float]) -> None:
    """ANSI/TIA-568.3-D (from memory), dB/km by nm; ISO/IEC 11801 has 0.4 for OS2."""
    assert {nm: attenuation_db_km(fibre, nm) for nm in losses} == losses


@pytest.mark.parametrize(("power_mw", "power_dbm"), [(1, 0), (2, 3.0103), (0.5, -3.0103)])
def test_dbm(power_mw: float, power_dbm: float) -> None:
    """10 log10(P/1 mW): definition."""
    assert dbm(power_mw) == pytest.approx(power_dbm, abs=0.00005)


@given(st.floats(-60, 40))
def test_dbm_and_milliwatts_round_trip(power_dbm: float) -> None:
    assert dbm(milliwatts(power_dbm)) == pytest.approx(power_dbm, abs=1e-9)


# Splitters -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ways", "ideal_db"),
    [(1, 0), (2, 3.01), (4, 6.02), (8, 9.03), (16, 12.04), (32, 15.05), (64, 18.06)],
)
def test_an_even_split(ways: int, ideal_db: float) -> None:
    """10 log10 n: arithmetic."""
    assert splitter_ideal_db(ways) == pytest.approx(ideal_db, abs=0.005)


@pytest.mark.parametrize("ways", [2, 4, 8, 16, 32, 64])
def test_a_real_splitter_loses_a_little_more(ways: int) -> None:
    """Makers' catalogues (from memory)."""
    assert 0.5 < splitter_typical_db(ways) - splitter_ideal_db(ways) < 3.5


def test_splitters_in_a_row_add() -> None:
    assert splitter_ideal_db(4) + splitter_ideal_db(8) == pytest.approx(splitter_ideal_db(32))


# Windows and classes -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "far", "least", "most"),
    [
        ("GPON B+", Receiver(-27, -8), 13, 28),
        ("GPON C+", Receiver(-30, -8), 17, 32),
        ("XGS-PON N1", Receiver(-28, -9), 14, 29),
    ],
)
def test_passive_classes(name: str, far: Receiver, least: float, most: float) -> None:
    """ITU-T G.984.2 (B+, C+), G.9807.1 (N1): far receiver; loss ranges from memory."""
    known = PASSIVE_CLASSES[name]
    assert known.far == far
    assert (known.least_loss_db, known.most_loss_db) == (least, most)


@pytest.mark.parametrize(
    ("name", "head_launch_dbm", "head"),
    [
        ("GPON B+", (1.5, 5), Receiver(-28, -8)),
        ("GPON C+", (3, 7), Receiver(-32, -12)),
        ("XGS-PON N1", (2, 5), Receiver(-26, -5)),
    ],
)
def test_the_carriers_end(name: str, head_launch_dbm: tuple[float, float], head: Receiver) -> None:
    """ITU-T G.984.2, G.9807.1: launch; the receivers of C+ and N1 from memory."""
    assert PASSIVE_CLASSES[name].head_launch_dbm == head_launch_dbm
    assert PASSIVE_CLASSES[name].head == head


@pytest.mark.parametrize("name", PASSIVE_CLASSES)
def test_least_launch_covers_the_greatest_loss_and_penalty(name: str) -> None:
    """ITU-T G.984.2, G.9807.1: launch less sensitivity is loss and path penalty, both ways."""
    known = PASSIVE_CLASSES[name]
    down = known.head_launch_dbm[0] - known.far.sensitivity_dbm
    up = known.far_launch_dbm[0] - known.head.sensitivity_dbm
    assert down == pytest.approx(known.most_loss_db + known.penalty_down_db)
    assert up == pytest.approx(known.most_loss_db + known.penalty_up_db)


def test_a_usual_passive_link() -> None:
    """Constructed on G.984.2 B+: 5 km, four pairs, three splices, 1:32 (arithmetic)."""
    loss = loss_db((5, 0.35), (4, 0.5), (3, 0.1), (1, 17.0))
    assert loss == pytest.approx(21.05)
    seen = received(1.5 - loss, PASSIVE_CLASSES["GPON B+"].far)
    assert seen.power_dbm == pytest.approx(-19.55)
    assert seen.margin_db == pytest.approx(7.45)
    assert seen.verdict == "good"
    assert loss_in_class(loss, "GPON B+") == ""


def test_too_little_loss_overloads_a_receiver() -> None:
    """G.984.2 B+: 5 dBm less 10 dB are -5, above -8; and 10 dB is below the range."""
    seen = received(5 - 10, PASSIVE_CLASSES["GPON B+"].far)
    assert (seen.verdict, seen.overload_margin_db) == ("too strong", -3)
    assert loss_in_class(10, "GPON B+") == "10 dB is below the 13 dB of GPON B+"


def test_on_the_edge_there_is_power_but_no_margin() -> None:
    """G.984.2 B+: 28.5 dB leave -27.0 dBm, and are above the range."""
    seen = received(1.5 - 28.5, PASSIVE_CLASSES["GPON B+"].far)
    assert (seen.verdict, seen.margin_db) == ("thin", 0)
    assert loss_in_class(28.5, "GPON B+") == "28.5 dB is above the 28 dB of GPON B+"
    assert received(-24.0, PASSIVE_CLASSES["GPON B+"].far).verdict == "good"  # 3 dB of margin
    assert received(-24.01, PASSIVE_CLASSES["GPON B+"].far).verdict == "thin"
    assert received(-27.01, PASSIVE_CLASSES["GPON B+"].far).verdict == "too weak"


@pytest.mark.parametrize(
    ("budget_db", "loss", "margin_db"),
    [(13, 6.0, 7.0), (13, 7.0, 6.0), (13, 7.5, 5.5), (15, 3.8, 11.2), (15, 7.05, 7.95)],
)
def test_margin_left_of_a_power_budget(budget_db: float, loss: float, margin_db: float) -> None:
    """A router's hardware guide; the last two from the FOA guide (from memory), -16 to -31 dBm."""
    launch_dbm, receiver = -16.0, Receiver(-16.0 - budget_db, 0.0)
    assert received(launch_dbm - loss, receiver).margin_db == pytest.approx(margin_db)


@given(st.floats(0, 40), st.floats(0, 40))
def test_more_loss_leaves_less_margin(one: float, other: float) -> None:
    less, more = sorted((one, other))
    window = PASSIVE_CLASSES["GPON C+"].far
    assert received(3 - more, window).margin_db <= received(3 - less, window).margin_db


@pytest.mark.parametrize(
    ("name", "budget_db"),
    [("1000BASE-SX", 7.5), ("1000BASE-LX", 8.0), ("1000BASE-LX10", 10.5), ("10GBASE-LR", 6.2)],
)
def test_ethernet_optics(name: str, budget_db: float) -> None:
    """IEEE 802.3 clauses 38, 59, 52: least launch less sensitivity (arithmetic)."""
    optic = ETHERNET_OPTICS[name]
    assert optic.launch_dbm[0] - optic.receiver.sensitivity_dbm == pytest.approx(budget_db)
    assert optic.most_loss_db <= budget_db + 1e-9
    assert optic.launch_dbm[1] <= optic.receiver.overload_dbm


def test_out_of_range_is_refused_by_name_and_unit() -> None:
    with pytest.raises(ValueError, match="fibre 'OM9' at 850 nm: no figure is known"):
        attenuation_db_km("OM9", 850)
    with pytest.raises(ValueError, match="splitter of 3 ways: 2, 4, 8, 16, 32 or 64"):
        splitter_typical_db(3)
    with pytest.raises(ValueError, match="optical power 0 mW"):
        dbm(0)
    with pytest.raises(ValueError, match="fibre length -1 m"):
        link_parts("OM3", 850, -1, 2, 0)
    with pytest.raises(ValueError, match="loss of part -1 dB"):
        loss_db((1, -1))
    with pytest.raises(ValueError, match="class 'B' is not known: GPON B"):
        loss_in_class(20, "B")
    with pytest.raises(ValueError, match="receiver -8 to -27 dBm: sensitivity lies below overload"):
        received(-20, Receiver(-8, -27))
    with pytest.raises(ValueError, match="received power nan dBm"):
        received(math.nan, Receiver(-27, -8))
    assert loss_db() == 0
