"""The data bus against ISO 11898-2 and SAE J1939-11."""

import pytest


@pytest.fixture(scope="module")
def bus(twin):
    return twin("pwa.engine.electrical.bus")


def parallel(*ohms):
    return 1 / sum(1 / one for one in ohms)


# Two, one, three and four resistors of 120 Ω (SAE J1939-11) in parallel, alone and loaded by the inputs of
# 10 nodes of 30 kΩ and of 20 nodes of 20 kΩ; Kirchhoff's laws.
@pytest.mark.parametrize("count", [1, 2, 3, 4])
@pytest.mark.parametrize("inputs", [[], [30e3] * 10, [20e3] * 20])
def test_terminators_of_j1939_11(bus, count, inputs):
    assert bus.terminators(parallel(*[120.0] * count, *inputs))["count"] == count


# ISO 11898-2, bus output levels as data sheets of transceivers of several makers print them: lowest, typical
# and highest V of CAN_H and CAN_L. Recessive without load; dominant into 50 to 65 Ω, 1.5 to 3 V apart.
@pytest.mark.parametrize(
    ("high", "low", "state", "outcome"),
    [
        (2.0, 2.0, "recessive", "ok"), (2.5, 2.5, "recessive", "ok"), (3.0, 3.0, "recessive", "ok"),
        (1.9, 1.9, "recessive", "wrong"), (3.1, 3.1, "recessive", "wrong"),
        (2.5, 2.62, "recessive", "ok"),  # −120 mV into 60 Ω
        (3.5, 1.5, "dominant", "ok"), (3.25, 1.75, "dominant", "ok"), (4.0, 1.0, "dominant", "ok"),
        (3.2, 1.75, "dominant", "wrong"), (4.1, 1.0, "dominant", "wrong"), (2.7, 1.2, "dominant", "wrong"),
    ],
)  # fmt: skip
def test_levels_of_iso_11898_2(bus, high, low, state, outcome):
    assert bus.levels(high, low, state, 0.0)["outcome"] == outcome


def test_a_meter_shows_the_mean_of_both_states(bus):
    # Worked by hand: nominal levels 2.5/2.5 V and 3.5/1.5 V, dominant for 5 to 60 % of the time.
    for share in (0.05, 0.2, 0.6):
        assert bus.levels(2.5 + share, 2.5 - share, "traffic")["outcome"] == "ok"
