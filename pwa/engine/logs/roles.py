"""What the columns of a table may be, from the words in their names.

A proposal, never more: the person sees it and changes it. Words are those of the trade in English, and a few
in German and Spanish.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Any

    Words = tuple[tuple[str, ...], ...]

VANES = ("vgt", "vnt", "vtg", "vane", "vanes", "turbo", "actuator", "nozzle")
COMMAND = (
    "command", "commanded", "cmd", "desired", "target", "demand", "setpoint", "duty", "soll", "request",
)  # fmt: skip
ACTUAL = ("actual", "position", "pos", "feedback", "act", "ist", "measured", "valve")
HOT = ("temperature", "temp", "egt", "ect", "iat", "imt")
TIME = (
    "time", "timestamp", "zeit", "tiempo", "seconds", "elapsed", "clock", "t", "date", "datetime", "uhrzeit",
    "ms",
)  # fmt: skip
BOOST = ("boost", "map", "ladedruck", "manifold", "charge", "turbo")
NO_BOOST = ("exhaust", "oil", "fuel", "rail", "barometric") + COMMAND
# role, name, groups of words of which each must give one, words that rule it out; the surest first
ROLES: "list[tuple[str, str, Words, tuple[str, ...]]]" = [
    ("vgt-command", "VGT command", (VANES, COMMAND), ("egr", "pressure", "throttle", "speed") + HOT),
    ("vgt-position", "VGT position", (VANES, ACTUAL), ("egr", "pressure", "throttle", "speed") + HOT),
    ("turbo-speed", "Turbo speed", (("turbo", "turbocharger"), ("speed", "rpm")), ("engine",)),
    (
        "engine-speed",
        "Engine speed",
        (
            ("rpm", "speed", "drehzahl", "motordrehzahl", "revoluciones"),
            ("engine", "rpm", "motor", "drehzahl", "motordrehzahl", "crank"),
        ),
        ("turbo", "vehicle", "fan", "wheel", "road", "turbocharger", "output", "input", "shaft"),
    ),
    ("egr-command", "EGR command", (("egr", "agr"), COMMAND), ("pressure",) + HOT),
    ("egr-position", "EGR valve position", (("egr", "agr"), ACTUAL), ("pressure",) + COMMAND + HOT),
    (
        "intake-temperature",
        "Intake temperature",
        (("intake", "manifold", "charge", "imt", "iat"), HOT),
        ("exhaust", "egr"),
    ),
    ("exhaust-temperature", "Exhaust temperature", (("exhaust", "egt"), HOT), ()),
    ("coolant-temperature", "Coolant temperature", (("coolant", "ect", "water"), HOT), ()),
    (
        "barometer",
        "Air pressure outside",
        (("barometric", "baro", "ambient", "barometer"), ("pressure", "baro", "barometer")),
        HOT,
    ),
    (
        "boost",
        "Boost pressure",
        (BOOST, ("boost", "map", "ladedruck", "pressure", "press")),
        NO_BOOST + HOT,
    ),
    ("time", "Time", (TIME,), ("delay", "response")),
]


def words(name: str) -> "list[str]":
    """A column's name as words in lower case: "VGT_Pos.Actual [%]" and "vgtPosActual2" both fall apart.

    Only A to Z are made small: the phone's interpreter knows no other capitals.
    """
    spaced = ""
    before = " "
    for place, letter in enumerate(name):
        capital = "A" <= letter <= "Z"
        if capital and ("a" <= before <= "z" or "a" <= name[place + 1 : place + 2] <= "z"):
            spaced += " "
        plain = capital or "a" <= letter <= "z" or ord(letter) > 191
        spaced += letter.lower() if capital else letter if plain else " "
        before = letter
    return spaced.split()


def propose(names: "list[str]", kinds: "list[str] | None" = None) -> "list[str]":
    """A role for each column, "" for none; each role is given once, to the first column that fits.

    A column of the kind "text" gets none.
    """
    found = [""] * len(names)
    split = [[] if kinds and kinds[place] == "text" else words(name) for place, name in enumerate(names)]
    for role, _, groups, without in ROLES:
        for index, said in enumerate(split):
            if not found[index] and _fits(said, groups, without):
                found[index] = role
                break
    return found


def name_of(role: str) -> str:
    for key, name, _, _ in ROLES:
        if key == role:
            return name
    raise ValueError(f"There is no signal {role}. There are {', '.join([key for key, _, _, _ in ROLES])}.")


def apply(mapping: "dict[str, Any]", names: "list[str]", proposed: "list[str]") -> "list[str]":
    """The roles with a person's choices: role -> column's name or number from 1, "" for none.

    Raises:
        ValueError: a role or a column that is not there.
    """
    roles = list(proposed)
    for role in sorted(mapping):
        column = mapping[role]
        if role == "time-unit":
            continue
        name_of(role)
        roles = ["" if given == role else given for given in roles]
        if column == "":
            continue
        if isinstance(column, str) and column in names:
            roles[names.index(column)] = role
        elif str(column).isdigit() and 1 <= int(column) <= len(names):
            roles[int(column) - 1] = role
        else:
            raise ValueError(f"There is no column “{column}”. There are {', '.join(names)}.")
    return roles


def _fits(said: "list[str]", groups: "Words", without: "tuple[str, ...]") -> bool:
    if any(word in without for word in said):
        return False
    return all(any(word in group for word in said) for group in groups)
