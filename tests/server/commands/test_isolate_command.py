"""`layby isolate` and `layby network`: a case in words and as JSON, and a bad case in one sentence."""

import json

import pytest

from server import cli

CASE = {"drive": "electric", "place": "bay", "findings": {"supply-drop": "high", "hand-sweep": "smooth"}}


@pytest.fixture
def case(tmp_path):
    def write(data):
        path = tmp_path / "case.json"
        path.write_text(data if isinstance(data, str) else json.dumps(data))
        return str(path)

    return write


def test_a_case_is_answered_as_json(case, capsys):
    assert cli.main(["isolate", case(CASE), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert sum(found["standing"].values()) == pytest.approx(1)
    assert found["suspects"][0]["cause"] == "supply-fault"
    assert {reason["finding"] for reason in found["reasons"]} == set(CASE["findings"])
    assert found["checks"][0]["worth"] >= found["checks"][-1]["worth"]


def test_a_case_is_answered_in_words(case, capsys):
    assert cli.main(["isolate", case(CASE)]) == 0
    said = capsys.readouterr().out
    assert "Supply, fuse or relay" in said
    assert "Next checks" in said


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ("{", "is not JSON"),
        ([], "a case has"),
        ({"findings": {"supply-drop": "purple"}}, "no finding supply-drop with the outcome purple"),
        ({"findings": {"no-such": "yes"}}, "no finding no-such"),
        ({"findings": {}, "drive": "steam"}, "drive is one of"),
        ({"findings": {}, "place": "moon"}, "place is one of"),
        ({"findings": {}, "heat": "tepid"}, "heat is one of cold, hot"),
        ({"findings": {}, "without": "lamp"}, "without is a list"),
        ({"findings": {}, "codes": "641/7"}, "codes are a list"),
        ({"findings": {}, "codes": ["nonsense"]}, "is no code known here"),
        ({"findings": {}, "codes": [{"code": "641/7", "status": "old"}]}, "status is active or stored"),
        ({"findings": {}, "codes": [{"code": "641/7", "about": "moon"}]}, "about is one of"),
        ({"findings": {"supply-drop": 3}}, "findings, supply-drop: write an outcome"),
        ({"findings": {"supply-drop": {"outcome": "ok", "weights": {"ok": -1}}}}, "likelihood of 'ok'"),
        ({"findings": {"supply-drop": {"outcome": "ok", "weights": {"red": 1}}}}, "no state 'red'"),
        ({"findings": {"supply-drop": {"outcome": "ok", "weights": {"ok": 0, "high": 0}}}}, "contradict"),
    ],
)
def test_a_bad_case_is_one_sentence(case, capsys, data, says):
    assert cli.main(["isolate", case(data)]) == 2
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == 1


def test_the_network_is_bif_that_another_library_reads_or_json(capsys):
    from pgmpy.readwrite import BIFReader  # here: it takes seconds, and each core reads every test

    assert cli.main(["network"]) == 0
    net = BIFReader(string=capsys.readouterr().out).get_model()
    assert net.check_model()
    assert {"standing", "any-control", "vanes-sticking"} <= set(net.nodes())
    assert cli.main(["network", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["questions"]


def test_codes_answer_their_findings_and_clear_none_that_they_may_be_about(case, capsys):
    listed = ["641/11", {"code": "P0299", "status": "stored"}]
    data = {"findings": {}, "codes": listed, "no_other_codes": True}
    assert cli.main(["isolate", case(data), "--json"]) == 0
    answered = {
        reason["finding"]: reason["outcome"] for reason in json.loads(capsys.readouterr().out)["reasons"]
    }
    assert answered["code-vgt"] == answered["code-boost-low"] == "yes"
    assert answered["code-fuel"] == "no"
    assert not {"code-circuit", "code-mechanical"} & set(answered)
