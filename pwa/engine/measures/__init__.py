"""Measurements: typed numbers and limits to a verdict that may answer a finding.

Each module here has `CALCULATIONS`, by name; content writes `air.expected_boost`. A calculation takes values
in SI and limits in the unit that it declares. Modules are loaded when they are asked for, so that the
phone's start does not pay for all of them.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pwa.engine.measures.declared import Calculation
    from pwa.engine.measures.verdict import Values, Verdict

# The middles of ten equally likely parts of the standard normal distribution.
TENTHS = (-1.645, -1.036, -0.674, -0.385, -0.126, 0.126, 0.385, 0.674, 1.036, 1.645)


def calculate(name: str, values: "Values", limits: "Values") -> "Verdict":
    """The verdict of the calculation that content names.

    Raises:
        ValueError: no such calculation, a missing number, or readings that cannot be.
    """
    calculation = find(name)
    try:
        return calculation.run(values, limits)
    except KeyError as missing:
        named = str(missing.args[0]).replace("_", " ")
        raise ValueError(f"The value “{named}” is missing.") from None


def find(name: str) -> "Calculation":
    """The calculation called `module.function`.

    Raises:
        ValueError: there is none of that name.
    """
    module, _, function = name.partition(".")
    path = "pwa.engine.measures." + module
    calculations: dict[str, Calculation] = {}
    try:
        calculations = getattr(__import__(path, None, None, ("CALCULATIONS",)), "CALCULATIONS", {})
    except ImportError as error:
        if f"module named '{path}'" not in str(error):  # the module is there, but what it imports is not
            raise
    if function not in calculations:
        raise ValueError(f"There is no calculation called {name}.")
    return calculations[function]


def likelihoods(name: str, values: "Values", limits: "Values", soft: "Values") -> "dict[str, float]":
    """How likely the reading is under each outcome, where a limit is near; {} where there is no doubt.

    The limits are taken as known only to the standard deviations in `soft`: the verdict is worked out for
    limits spread that way, and each outcome's share of the verdicts stands for its likelihood. Our estimate.
    """
    shares: dict[str, float] = {}
    for tenth in TENTHS:
        moved = limits.copy()
        for key, deviation in soft.items():
            moved[key] = limits[key] + tenth * deviation
        try:
            outcome = calculate(name, values, moved)["outcome"]
        except ValueError:
            return {}
        shares[outcome] = shares.get(outcome, 0.0) + 1 / len(TENTHS)
    return shares if len(shares) > 1 and "" not in shares else {}
