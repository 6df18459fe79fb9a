"""A code never clears what it accuses.

Every code of content/codes is typed alone, in each failure mode, with "no other codes" behind it. Its own
system may then be no less suspect than if nobody had read any codes.
"""

import pytest

from pwa.app.evidence import code_findings, code_meaning
from pwa.build.model import compiler
from pwa.engine.evidence import case
from pwa.engine.evidence.network import Tree, none
from tests.helpers.trade import LOADED

CONTENT = LOADED
PLAIN = CONTENT.model_dump()
CODES = PLAIN["codes"]
FINDINGS = {item.key: item for item in CONTENT.findings}
CAUSES = {item.key: item for item in CONTENT.causes}
DRIVES = ("electric", "pneumatic", "hydraulic")
VGT = ("641", "642", "2795")
UNKNOWN_SPN = "98765"


@pytest.fixture(scope="module")
def model():
    return compiler.compile(CONTENT)


def j1939(spn, fmi, **more):
    code = {"kind": "j1939", "key": f"{spn}/{fmi}", "spn": int(spn), "fmi": fmi, "typed": f"{spn}/{fmi}"}
    return {**code, **more}


def j2012(key):
    return {"kind": "j2012", "key": key, "spn": None, "fmi": None, "typed": key}


def every_code():
    yield from (j2012(key) for key in CODES["dtc"])
    yield from (j1939(spn, fmi) for spn in [*CODES["spn"], UNKNOWN_SPN] for fmi in range(32))


def evidence(codes, cleared=True):
    """What the screen writes of these codes and "no other codes"."""
    told = code_findings.answers(CODES, codes)
    found = {
        item["key"]: item["outcomes"][0]["key"]
        for item in code_findings.cleared(PLAIN, codes)
        if cleared and item["key"] not in told
    }
    return {**found, **{name: code_findings.weights(stored) or "yes" for name, stored in told.items()}}


def behind(finding):
    """The faults that a finding is shown by, through effects too."""
    found, left = set(), list(FINDINGS[finding].shown_by)
    while left:
        cause = CAUSES[left.pop()]
        if cause.put_right:
            found.add(cause.key)
        left += list(cause.because_of)
    return found


def chance_of_any(model, causes, drive, said):
    tree = Tree(model)
    tree.enter(case.given(model, drive))
    tree.enter(said)
    whole = tree.propagate()
    return 1 - whole.probability(none(sorted(causes))) / whole.total


@pytest.mark.parametrize("drive", DRIVES)
def test_no_code_and_no_others_leave_its_own_system_less_suspect_than_no_code_at_all(model, drive):
    worked_out, wrong = {}, []
    before = {
        system: chance_of_any(model, causes, drive, {})
        for system, causes in ((system, of_system(system)) for system in CODES["systems"])
        if causes
    }
    for code in every_code():
        said = evidence([code])
        system = code_findings.meanings(CODES, code)[0]["system"]
        for own in [system] if system else list(before):
            kept = (own, tuple(sorted(said.items())))
            if own in before and kept not in worked_out:
                worked_out[kept] = chance_of_any(model, of_system(own), drive, said)
            if own in before and worked_out[kept] < before[own] - 1e-9:
                wrong.append((code["key"], own, round(before[own], 3), round(worked_out[kept], 3)))
    assert wrong == []


def of_system(system):
    return {cause for finding in code_meaning.every(CODES, system) for cause in behind(finding)}


@pytest.mark.parametrize("fmi", range(32))
def test_every_failure_mode_of_the_vgt_answers_a_finding_of_it(fmi):
    for spn in VGT:
        meaning = code_meaning.of_code(CODES, j1939(spn, fmi))
        assert meaning["finding"] in code_meaning.every(CODES, "vgt")
        assert meaning["outcome"] == "yes"


def test_every_code_that_is_about_this_job_answers_a_finding():
    for code in every_code():
        meaning = code_meaning.of_code(CODES, code)
        assert bool(meaning["finding"]) == (meaning["system"] not in ("", "elsewhere"))


@pytest.mark.parametrize(
    ("key", "finding"),
    [
        ("641/2", "code-vgt"), ("641/6", "code-vgt"), ("641/31", "code-vgt"), ("2795/10", "code-vgt"),
        ("3511/4", "code-reference"), ("1569/31", "code-derate"), ("103/16", "code-overspeed"),
        ("102/16", "code-boost-high"), ("3563/18", "code-boost-low"), ("102/31", "code-boost"),
        ("107/0", "code-air"), ("1209/3", "code-exhaust"), ("5246/15", "code-derate"),
        ("4364/18", "code-reductant"), ("94/18", "code-fuel"), ("100/1", "code-oil"),
        ("110/0", "code-coolant"), ("84/2", ""),
    ],
)  # fmt: skip
def test_a_pair_answers_the_finding_of_its_system(key, finding):
    spn, fmi = key.split("/")
    assert code_meaning.of_code(CODES, j1939(spn, int(fmi)))["finding"] == finding


@pytest.mark.parametrize(
    ("key", "finding"),
    [
        ("P0046", "code-vgt"), ("P2563", "code-vgt"), ("P2598", "code-vgt"), ("P0234", "code-boost-high"),
        ("P0049", "code-overspeed"), ("P0087", "code-fuel"), ("P0263", "code-fuel"), ("P2463", "code-soot"),
        ("P244B", "code-soot"), ("P20EE", "code-reductant"), ("P2106", "code-derate"),
        ("U010C", "code-network"), ("P0606", "code-ecm"), ("P0615", ""),
    ],
)  # fmt: skip
def test_a_code_of_j2012_answers_the_finding_of_its_system(key, finding):
    assert code_meaning.of_code(CODES, j2012(key))["finding"] == finding


def test_a_code_whose_kind_is_not_told_leaves_all_of_its_system_open():
    said = evidence([j1939("641", 11)])
    assert said["code-vgt"] == "yes"
    assert not {"code-circuit", "code-mechanical", "code-device", "code-calibration"} & set(said)
    assert said["code-fuel"] == said["code-soot"] == "no"


def test_a_code_whose_kind_is_told_still_clears_the_other_kinds():
    said = evidence([j1939("641", 7)])
    assert said["code-mechanical"] == "yes"
    assert said["code-circuit"] == "no"
    assert "code-vgt" not in said


def test_an_unknown_code_clears_nothing_until_somebody_says_what_it_is_about():
    assert evidence([j1939(UNKNOWN_SPN, 3)]) == {}
    assert evidence([j2012("P1234")]) == {}
    elsewhere = evidence([j1939(UNKNOWN_SPN, 3, about="elsewhere")])
    assert set(elsewhere.values()) == {"no"}
    told = evidence([j1939(UNKNOWN_SPN, 3, about="vgt")])
    assert told["code-circuit"] == "yes"
    assert told["code-mechanical"] == "no"


@pytest.mark.parametrize("key", ["B1234", "C0035", "P0700", "P0A80"])
def test_an_unknown_code_of_another_part_of_the_truck_leaves_nothing_open(key):
    assert set(evidence([j2012(key)]).values()) == {"no"}


def test_an_unknown_network_code_leaves_open_what_the_network_carries():
    said = evidence([j2012("U0999")])
    assert not {"code-network", "code-circuit", "code-vgt"} & set(said)
    assert said["code-fuel"] == "no"


@pytest.mark.parametrize("drive", DRIVES)
def test_a_stored_code_counts_less_than_an_active_one_and_more_than_none(model, drive):
    causes = behind("code-circuit")
    codes = ([], [j1939("641", 3, status="stored")], [j1939("641", 3)])
    none_, stored, active = [
        chance_of_any(model, causes, drive, evidence(listed, cleared=False)) for listed in codes
    ]
    assert none_ < stored < active


def test_one_active_code_makes_a_finding_sure_whatever_is_stored_beside_it():
    stored, active = j1939("641", 3, message="DM2"), j1939("641", 4, message="DM1")
    assert code_findings.answers(CODES, [stored]) == {"code-circuit": True}
    for listed in ([stored, active], [active, stored]):
        assert code_findings.answers(CODES, listed) == {"code-circuit": False}


def test_what_may_be_one_of_several_parameters_answers_nothing_and_keeps_them_all_open():
    code = j1939("641", 7, candidates=[641, 94])
    assert code_findings.answers(CODES, [code]) == {}
    assert {"code-mechanical", "code-fuel"} <= set(code_findings.could(CODES, [code]))
