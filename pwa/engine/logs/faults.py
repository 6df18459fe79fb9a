"""Trouble codes in a log's DM1 and DM2 messages: which, by whom, from when to when."""

from typing import TypedDict

from pwa.engine.codes import dtc


class Fault(TypedDict):
    """One code of one sender. `first` and `last` are seconds from the log's start."""

    key: str
    spn: int
    fmi: int
    occurrences: "int | None"
    candidates: "list[int]"
    lamps: "list[str]"
    active: bool  # DM1; DM2 has those of before
    sender: int
    messages: int
    first: float
    last: float


class Faults:
    def __init__(self) -> None:
        self.unreadable = 0
        self._known: dict[str, list[Fault]] = {}  # message as sent -> its codes, to decode each once
        self._faults: dict[str, Fault] = {}

    def take(self, time: float, active: bool, sender: int, payload: bytes) -> None:
        message = f"{sender} {active} {payload!r}"
        faults = self._known.get(message)
        if faults is None:
            faults = self._known[message] = self._decode(time, active, sender, payload)
        for fault in faults:
            fault["messages"] += 1
            fault["last"] = time

    def summary(self, start: float) -> "list[Fault]":
        """Every code, the active ones first, with times from the start."""
        found = [fault.copy() for fault in self._faults.values()]
        for fault in found:
            fault["first"] -= start
            fault["last"] -= start
        return sorted(found, key=lambda one: (not one["active"], one["sender"], one["spn"], one["fmi"]))

    def _decode(self, time: float, active: bool, sender: int, payload: bytes) -> "list[Fault]":
        try:
            decoded = dtc.decode_dm1(list(payload))["codes"]
        except ValueError:
            self.unreadable += 1
            return []
        return [self._fault(time, active, sender, code) for code in decoded]

    def _fault(self, time: float, active: bool, sender: int, code: dtc.Code) -> Fault:
        name = f"{sender} {active} {code['key']} {code['candidates']}"
        fault = self._faults.get(name)
        if fault is None:
            fault = self._faults[name] = {
                "key": code["key"],
                "spn": code["spn"] or 0,
                "fmi": code["fmi"] or 0,
                "occurrences": code["occurrences"],
                "candidates": code["candidates"],
                "lamps": code["lamps"],
                "active": active,
                "sender": sender,
                "messages": 0,
                "first": time,
                "last": time,
            }
        # The count only grows, so the latest message has the one to know.
        fault["occurrences"], fault["lamps"] = code["occurrences"], code["lamps"]
        return fault
