"""Compiling the fault model: what cannot be is refused with key and field; what can be stays small."""

import json
from pathlib import Path

import pytest

from pwa.build.content import reader, schema
from pwa.build.model import bif, compiler

REAL = Path(__file__).parent.parent.parent / "content"


@pytest.fixture(scope="module")
def real():
    return reader.load(REAL)


def cause(key, **fields):
    given = {
        "name": key,
        "system": "mechanism",
        "text": "",
        "shows": "",
        "chance": 0.1,
        "source": "our-estimate",
        **fields,
    }
    return schema.Cause(key=key, **given)


def finding(key, **fields):
    given = {
        "name": key,
        "question": "?",
        "how": "",
        "outcomes": [{"key": "no", "label": "No"}, {"key": "yes", "label": "Yes"}],
        "leak": [0.05],
        "minutes": 1,
        "source": "our-estimate",
        **fields,
    }
    return schema.Finding(key=key, **given)


def compile_only(real, causes, findings):
    return compiler.compile(real.model_copy(update={"causes": causes, "findings": findings}))


def test_a_small_model_compiles(real):
    compiled = compile_only(
        real, [cause("a"), cause("b", because_of={"a": 0.5})], [finding("f", shown_by={"b": [0.8]})]
    )
    assert [item["name"] for item in compiled["variables"]] == ["a", "b", "f"]


@pytest.mark.parametrize(
    ("causes", "findings", "says"),
    [
        (
            [cause("a", because_of={"b": 0.5}), cause("b", because_of={"a": 0.5})],
            [],
            "because_of: causes go in a circle",
        ),
        ([cause("a", because_of={"a": 0.5})], [], "cause a, because_of: causes go in a circle: a -> a"),
        ([cause("a", because_of={"x": 0.5})], [], "cause a, because_of: there is no cause 'x'"),
        ([cause("a"), cause("b", because_of={"a": 1.0})], [], "cause b, because_of a: chances lie between"),
        ([cause("a"), cause("b", because_of={"a": 0.0})], [], "cause b, because_of a: chances lie between"),
        ([cause("a")], [finding("f", shown_by={"x": [0.5]})], "finding f, shown_by: there is no cause 'x'"),
        ([cause("a")], [finding("f", shown_by={"a": [1.2]})], "finding f, shown_by a: chances lie between"),
        ([cause("a")], [finding("f", shown_by={"a": [-0.1]})], "finding f, shown_by a: chances lie between"),
        (
            [cause("a")],
            [finding("f", shown_by={"a": [0.5, 0.2]})],
            "finding f, shown_by a: 2 numbers for 1 outcomes",
        ),
        (
            [cause("a")],
            [finding("f", shown_by={"a": [0.5]}, leak=[0.0])],
            "finding f, leak: chances lie between",
        ),
        (
            [cause("a")],
            [finding("f", shown_by={"a": [0.5]}, given="maybe")],
            "finding f, given: there is no outcome",
        ),
        ([cause("a")], [finding("a", shown_by={"a": [0.5]})], "a, key: this name is taken"),
        ([cause("standing")], [], "standing, key: this name is taken"),
        ([cause("a--1")], [], "a--1, key: this name is taken, or holds --"),
    ],
)
def test_what_cannot_be_is_refused_with_key_and_field(real, causes, findings, says):
    with pytest.raises(ValueError) as caught:
        compile_only(real, causes, findings)
    assert says in str(caught.value)


def test_the_order_of_files_does_not_matter(real):
    turned = real.model_copy(update={"causes": real.causes[::-1], "findings": real.findings[::-1]})
    assert json.dumps(compiler.compile(turned)) == json.dumps(compiler.compile(real))


def test_the_model_is_small_enough_for_a_phone(real):
    compiled = compiler.compile(real)
    assert len(json.dumps(compiled)) < 390_000
    sizes = [len(clique["table"]) for clique in compiled["cliques"]]
    assert max(sizes) <= 256
    assert sum(sizes) <= 4500


def test_effects_are_neither_suspects_nor_a_side(real):
    compiled = compiler.compile(real)
    effects = {item["name"] for item in compiled["variables"] if item["kind"] == "effect"}
    assert "vanes-not-there" in effects
    assert not effects & {name for question in compiled["questions"] for name in question["any_of"]}


def test_the_bif_text_names_every_variable_and_helper_once(real):
    network = compiler.network(real.causes, real.findings)
    text = bif.bif(network)
    for node in network:
        assert text.count(f"variable {node.name} {{") == 1
    assert any("--" in node.name for node in network)


def test_findings_that_codes_and_measures_answer_have_their_outcomes(real):
    """Other parts of the app answer these by key; they must be exactly so."""
    outcomes = {item.key: {outcome.key for outcome in item.outcomes} for item in real.findings}
    assert outcomes["supply-drop"] == outcomes["ground-drop"] == {"ok", "high"}
    assert outcomes["reference-voltage"] == {"ok", "low", "high"}
    assert outcomes["position-feedback"] == {"follows", "short", "out-of-band", "frozen"}
    assert outcomes["hand-sweep"] == {"smooth", "stops-short", "rough", "jumps", "not-fitted"}
    for code in ("circuit", "mechanical", "network", "egr", "calibration", "boost-low"):
        assert outcomes[f"code-{code}"] == {"no", "yes"}
    assert outcomes["command-trace"] == {"follows", "slow", "sticks", "jumps", "short"}
    assert outcomes["leak-down"] == {"ok", "fast"}
    assert outcomes["bus-resistance"] == {"sixty", "other", "one-twenty", "many", "short", "open"}


def test_the_names_of_any_three_checks_fit_one_text_message(real):
    """160 characters, 3GPP TS 23.038; each name stands behind its number, with a question mark."""
    longest = sorted((len(finding.name) for finding in real.findings), reverse=True)[:3]
    assert sum(length + len("1) ?\n") for length in longest) <= 160


def test_every_cause_and_finding_says_what_a_wrong_conclusion_costs(real):
    assert sum(cause.system != "effect" for cause in real.causes) >= 40
    assert len(real.findings) >= 80
    assert all(finding.wrong for finding in real.findings)
    assert all(cause.wrong for cause in real.causes if cause.system != "effect")
