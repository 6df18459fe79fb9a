"""One term of the trade for one thing, in everything that content and templates say."""

import re
from pathlib import Path
from typing import Any

import pytest

from tests.helpers.trade import CONTENT

TEMPLATES = Path(__file__).parents[2] / "pwa" / "templates"
# What is not said (a regular expression) and what is said instead. A part is always named with its own part.
TERMS = {
    r"come-backs?": "comeback",
    r"comes? back all the same": "chance it still comes back",
    r"control units?": "engine control module (ECM), actuator electronics; control modules for all of them",
    r"drive of the actuator|what drives": "actuator type",
    r"out of clock|clocked wrong(ly)?": "housing clocked incorrectly",
    r"learn(ing|s|ed)? (the|both) ends|end positions?": "actuator calibration, end stops",
    r"says (that )?it is broken": "internal fault",
    r"commanded and not (followed|reached)": "not responding, position error",
    r"too little boost": "underboost",
    r"too much boost": "overboost",
    r"comes and goes": "intermittent",
    r"out of range": "range/performance",
    r"power (is )?held back|holds? (its |back )?power( back)?|what holds it back": "derate",
    r"messages? to the driver": "dash warning",
    r"turbine too fast": "turbocharger overspeed",
    r"suction before the compressor": "inlet restriction",
    r"air filter full": "air filter restricted",
    r"pieces of (it|the|a)|pieces in(to)?|its pieces": "debris",
    r"wrongly terminated": "termination fault",
    r"dear(est)?": "expensive",
    r"careful:|overlooked": "If missed:",
}
# Of the turbo itself, in causes and findings: piston rings, road wheels and the like are none of its parts.
PARTS = {
    r"(?<!actuator )(?<!bypass )(?<!throttle )(?<!wastegate )(?<!flap )lever": "actuator lever",
    r"(?<!actuator )(?<!connecting )(?<!bypass )(?<!wastegate )rod": "actuator rod",
    r"(?<!unison )(?<!nozzle )(?<!piston )(?<!sealing )ring": "unison ring; of a sliding nozzle: nozzle ring",
    r"(?<!nozzle )(?<!back )(?<!locking )(?<!throttle )(?<!data )plate": "nozzle plate",
    r"the wheel": "turbine wheel or compressor wheel",
}
SAYING = ("name", "question", "how", "text", "shows", "wrong")
NOT_SAID = ("key", "source", "sources", "as_of", "rule", "place")  # ids, and what a law says in its own words


def said(thing: Any, path: str = "") -> list[tuple[str, str]]:
    """Every text of the content with its place, without ids; words within a link's address are none."""
    if isinstance(thing, dict):
        named = str(thing.get("key", ""))
        return [
            pair
            for name, value in thing.items()
            if name not in NOT_SAID
            for pair in said(value, f"{path}/{named or ''}/{name}")
        ]
    if isinstance(thing, list):
        return [pair for value in thing for pair in said(value, path)]
    return [(path, re.sub(r'href="[^"]*"|\]\([^)]*\)', "", thing))] if isinstance(thing, str) else []


def found(term: str, texts: list[tuple[str, str]]) -> list[str]:
    pattern = re.compile(rf"(?<![\w-])(?:{term})(?![\w-])", re.IGNORECASE)
    return [f"{place}: {text}" for place, text in texts if pattern.search(text)]


SAID = [
    pair
    for table in ("stops", "cautions", "codes", "causes", "findings", "measures", "joints", "openings",
                  "repairs", "proofs", "fasteners", "procedures")
    for pair in said(CONTENT[table], table)
]  # fmt: skip


@pytest.mark.parametrize("term", TERMS)
def test_the_trades_own_term_is_used_in_content(term):
    assert found(term, SAID) == [], f"say: {TERMS[term]}"


@pytest.mark.parametrize("term", TERMS)
def test_the_trades_own_term_is_used_on_screens(term):
    texts = [(str(path), path.read_text("utf-8")) for path in sorted(TEMPLATES.rglob("*.html"))]
    assert found(term, texts) == [], f"say: {TERMS[term]}"


@pytest.mark.parametrize("part", PARTS)
def test_a_part_of_the_turbo_is_never_named_alone(part):
    texts = [
        (item["key"], text)
        for table in ("causes", "findings")
        for item in CONTENT[table]
        for name in SAYING
        for text in [item.get(name, "")]
    ]
    assert found(part, texts) == [], f"say: {PARTS[part]}"


def test_every_note_on_a_wrong_conclusion_says_what_it_costs_to_miss_it():
    notes = {item["key"]: item["wrong"] for table in ("causes", "findings") for item in CONTENT[table]}
    assert [key for key, note in notes.items() if note and not note.startswith("If missed: ")] == []
