"""Trouble codes of a case file: what they answer, as the page of codes does it."""

from typing import TYPE_CHECKING, Any

from pwa.app.evidence import code_findings
from pwa.engine.codes import dtc
from server import content

if TYPE_CHECKING:
    from pwa.app.kinds.data import Code

SHAPE = 'codes are a list such as ["641/7", {"code": "P0299", "status": "stored", "about": "boost"}]'


def answers(read: dict[str, Any], where: str) -> dict[str, Any]:
    """The findings that "codes" and "no_other_codes" of a case file answer.

    Raises:
        ValueError: something there is no code.
    """
    listed, clears = read.get("codes", []), read.get("no_other_codes", False)
    if not isinstance(listed, list) or not isinstance(clears, bool):
        raise ValueError(f"{where}: {SHAPE}; no_other_codes is true or false.")
    codes = [code for item in listed for code in _codes(item, where)]
    known = content.load()
    found: dict[str, Any] = {}
    if clears:
        found = {item["key"]: item["outcomes"][0]["key"] for item in code_findings.cleared(known, codes)}
    for finding, stored in code_findings.answers(known["codes"], codes).items():
        weights = code_findings.weights(stored)
        found[finding] = {"outcome": "yes", "weights": weights} if weights else "yes"
    return found


def _codes(item: object, where: str) -> "list[Code]":
    said = {"code": item} if isinstance(item, str) else item
    if not isinstance(said, dict) or not isinstance(said.get("code"), str):
        raise ValueError(f"{where}: {SHAPE}.")
    if said.get("status", "") not in ("", code_findings.ACTIVE, code_findings.STORED):
        raise ValueError(f"{where}: codes, {said['code']}: status is active or stored.")
    about = said.get("about", "")
    if about and about not in content.load()["codes"]["systems"]:
        known = ", ".join(sorted(content.load()["codes"]["systems"]))
        raise ValueError(f"{where}: codes, {said['code']}: about is one of {known}.")
    found: list[Code] = []
    for report in dtc.reports(said["code"])["reports"]:
        for code in report["codes"]:
            data: Any = {**code, "typed": said["code"], "message": report["message"], "about": about}
            if said.get("status"):
                data["status"] = said["status"]
            found.append(data)
    return found
