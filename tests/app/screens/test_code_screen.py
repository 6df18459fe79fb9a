"""The page of codes: what it writes, what "no other codes" clears, and what it takes back."""

import pytest


def standing(phone):
    """Finding -> outcome, of the answers that stand."""
    found = {}
    for item in phone.of_kind("finding"):
        found[item["finding"]] = item["outcome"]
    return {name: outcome for name, outcome in found.items() if outcome != "not-checked"}


@pytest.mark.parametrize("typed", ["641/2", "641/6", "641/14", "641/31", "2795/10", "P0046", "P2563"])
def test_a_vgt_code_whose_kind_is_not_told_is_never_cleared_by_no_others(phone, job, typed):
    phone.post(f"{job}/codes", typed=typed)
    page = phone.post(f"{job}/codes/done")
    said = standing(phone)
    assert said["code-vgt"] == "yes"
    assert not {"code-circuit", "code-mechanical", "code-device", "code-calibration"} & set(said)
    assert said["code-fuel"] == "no"
    assert "Stays open" in page.text
    assert "Circuit code" in page.text


def test_a_code_that_is_found_after_no_codes_at_all_opens_again_what_it_may_be_about(phone, job):
    phone.post(f"{job}/codes/done")
    assert standing(phone)["code-circuit"] == "no"
    phone.post(f"{job}/codes", typed="641/11")
    said = standing(phone)
    assert said["code-vgt"] == "yes"
    assert "code-circuit" not in said
    assert said["code-fuel"] == "no"


def test_an_answer_that_a_person_gave_is_not_taken_back_by_a_code(phone, job):
    phone.post(f"{job}/isolate", finding="code-circuit", outcome="no")
    phone.post(f"{job}/codes", typed="641/11")
    assert standing(phone)["code-circuit"] == "no"


def test_an_unknown_code_clears_nothing_until_it_is_said_what_it_is_about(phone, job):
    page = phone.post(f"{job}/codes", typed="98765/3")
    assert page.select_one("form[action$='/codes/done']") is None
    id = page.select_one("form[action$='/codes/about'] [name=code]")["value"]
    page = phone.post(f"{job}/codes/about", code=id, about="vgt")
    assert standing(phone) == {"code-circuit": "yes"}
    assert phone.of_kind("code")[-1]["about"] == "vgt"
    id = page.select_one("form[action$='/codes/about'] [name=code]")["value"]
    page = phone.post(f"{job}/codes/about", code=id, about="elsewhere")
    assert standing(phone) == {}
    phone.post(f"{job}/codes/done")
    assert standing(phone)["code-circuit"] == "no"


def test_what_a_code_is_about_must_be_chosen(phone, job):
    page = phone.post(f"{job}/codes", typed="98765/3")
    id = page.select_one("form[action$='/codes/about'] [name=code]")["value"]
    page = phone.post(f"{job}/codes/about", code=id, about="")
    assert phone.status == 422
    assert "Choose what the code is about" in page.text


def test_a_stored_code_counts_partly_until_an_active_one_comes(phone, job):
    page = phone.post(f"{job}/codes", typed="641/3", status="stored")
    assert "was active before" in page.text
    assert phone.of_kind("finding")[-1]["weights"] == {"yes": 0.9, "no": 0.1}
    assert "Stored, not active" in phone.get(f"{job}/isolate").text
    phone.post(f"{job}/codes", typed="641/4", status="active")
    assert "weights" not in phone.of_kind("finding")[-1]
    phone.post(f"{job}/codes", typed="641/5", status="stored")
    assert "weights" not in phone.of_kind("finding")[-1]


def test_a_message_says_itself_whether_its_codes_are_active(phone, job):
    phone.post(f"{job}/codes", typed="18FECB00#04FF81020701FFFF", status="active")
    assert phone.of_kind("code")[-1]["message"] == "DM2"
    assert "status" not in phone.of_kind("code")[-1]
    assert phone.of_kind("finding")[-1]["weights"] == {"yes": 0.9, "no": 0.1}


def test_a_mistyped_code_keeps_what_was_chosen_beside_it(phone, job):
    page = phone.post(f"{job}/codes", typed="hello", status="stored")
    assert page.select_one("[name=status][value=stored]").has_attr("checked")
