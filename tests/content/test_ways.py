"""How a finding comes to be known decides what it costs: a question is free, and a scan is paid once."""

import pytest

from tests.helpers.trade import CONTENT

FINDINGS = {item["key"]: item for item in CONTENT["findings"]}


def of_way(*ways):
    return [key for key, item in FINDINGS.items() if item["way"] in ways]


@pytest.mark.parametrize("key", of_way("asked"))
def test_what_is_asked_is_free_and_needs_no_tool(key):
    assert (FINDINGS[key]["minutes"], FINDINGS[key]["tools"], FINDINGS[key]["opens"]) == (0, [], [])


@pytest.mark.parametrize("key", of_way("codes"))
def test_a_code_is_paid_for_by_the_scan(key):
    scan = next(item for item in CONTENT["scans"] if item["way"] == "codes")
    assert FINDINGS[key]["minutes"] == 0 < scan["minutes"]
    assert FINDINGS[key]["tools"] == scan["tools"]


@pytest.mark.parametrize("key", of_way("measured", "commanded"))
def test_what_is_measured_or_commanded_takes_a_tool_and_minutes(key):
    assert FINDINGS[key]["tools"]
    assert FINDINGS[key]["minutes"] > 0


@pytest.mark.parametrize("key", of_way("looked at"))
def test_a_look_takes_minutes(key):
    assert FINDINGS[key]["minutes"] > 0


def test_no_check_mixes_a_question_with_a_tool():
    mixed = [key for key, item in FINDINGS.items() if item["tools"] and item["how"].startswith("Ask")]
    assert mixed == []
