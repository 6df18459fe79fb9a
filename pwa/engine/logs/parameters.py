"""What this job needs from a J1939 bus: where a parameter stands in its message, and its scale.

`standing` is how sure that is. "public lists agree": number, place and scale stand so in several public
lists. "from memory": the scale or the place is not checked against SAE J1939-71 or its digital annex.
A raw value above the valid range means error (FE) or not available (FF), SAE J1939-71 (from memory).
"""

from collections import namedtuple

LISTED = "public lists agree"
MEMORY = "from memory, not checked against the standard"
ONE_BYTE, TWO_BYTES = 0xFA, 0xFAFF  # the highest raw values that are measurements
ERRORS = {1: (0xFE, 0xFE), 2: (0xFE00, 0xFEFF)}

# byte counts from 1 as the lists do; value = scale * raw + offset
Parameter = namedtuple("Parameter", "key name spn pgn byte size scale offset unit standing")

PARAMETERS = (
    Parameter("engine-speed", "Engine speed", 190, 61444, 4, 2, 0.125, 0.0, "rpm", LISTED),
    Parameter("vgt-command", "VGT command", 641, 64931, 3, 1, 0.4, 0.0, "%", LISTED),
    Parameter("vgt-position", "VGT position", 2795, 64981, 8, 1, 0.4, 0.0, "%", MEMORY),
    Parameter("boost", "Boost pressure, gauge", 102, 65270, 2, 1, 2.0, 0.0, "kPa", MEMORY),
    Parameter("intake-temperature", "Intake temperature", 105, 65270, 3, 1, 1.0, -40.0, "°C", MEMORY),
    Parameter("exhaust-temperature", "Exhaust temperature", 173, 65270, 6, 2, 0.03125, -273.0, "°C", MEMORY),
    Parameter("egr-position", "EGR valve position", 27, 64916, 1, 2, 0.0025, 0.0, "%", MEMORY),
    Parameter("turbo-speed", "Turbo speed", 103, 65245, 2, 2, 4.0, 0.0, "rpm", MEMORY),
    Parameter("barometer", "Air pressure outside", 108, 65269, 1, 1, 0.5, 0.0, "kPa", MEMORY),
    Parameter("outside-temperature", "Air outside", 171, 65269, 4, 2, 0.03125, -273.0, "°C", MEMORY),
    Parameter("coolant-temperature", "Coolant temperature", 110, 65262, 1, 1, 1.0, -40.0, "°C", MEMORY),
)
ACTIVE, EARLIER = 65226, 65227  # DM1 and DM2, SAE J1939-73


def source(parameter: Parameter, address: int) -> str:
    """Where a value comes from, as a person can look it up."""
    last = parameter.byte + parameter.size - 1
    place = f"byte {parameter.byte}" if parameter.size == 1 else f"bytes {parameter.byte} and {last}"
    offset = f", offset {parameter.offset:g}" if parameter.offset else ""
    return (
        f"SPN {parameter.spn} in PGN {parameter.pgn}, {place}, {parameter.scale:g} {parameter.unit} "
        f"a bit{offset}; sent by address {address}"
    )
