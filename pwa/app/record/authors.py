"""Who wrote what: each device says its own name, in a record of its own chain, and nobody says another's.

A record carries no name, only its device. So a name stands in one place, and whoever changes it changes it
beside everything that the device wrote. The newest name of a device counts, whatever replaces it.
"""

from typing import TYPE_CHECKING

from pwa.app import contract
from pwa.app.record import chain, jobs
from pwa.app.record.remains import is_withdrawn

if TYPE_CHECKING:
    from pwa.app.protocol import Device, Draft, Record

# Shown as nothing, or turning what stands around them: two names that look alike could differ in them alone.
UNSEEN = (
    (0, 0x1F),
    (0x7F, 0xA0),
    (0xAD, 0xAD),
    (0x200B, 0x200F),
    (0x2028, 0x202E),
    (0x2060, 0x206F),
    (0xFEFF, 0xFEFF),
)


class Authors:
    """The names that the given records tell, of any job."""

    def __init__(self, records: "list[Record]") -> None:
        self._devices = {record["device"] for record in records}
        self._names = {device: _name(record) for device, record in _newest(records).items()}
        # Whose name was withdrawn is not named again by what its phone remembers.
        self._struck = {device for device, record in _newest(records).items() if is_withdrawn(record)}
        self._uses: dict[str, int] = {}
        for name in self._names.values():
            self._uses[look(name)] = self._uses.get(look(name), 0) + 1

    def author(self, record: "Record") -> str:
        """Who wrote a record, as pages say it."""
        device, claimed = record["device"], clean(record["author"])
        if device in self._names or not look(claimed) or claimed == chain.nameless(device):
            return self.name(device)
        # An older version wrote a name into each record. Nothing binds it to the device, so that stands too.
        return f"{claimed} ({self._label(device)})"

    def name(self, device: str) -> str:
        """The name of a device; with its id when another one has the same, and only the id if it has none."""
        name = self._names.get(device, "")
        seen = look(name)
        if not seen:
            return self._label(device)
        is_alone = self._uses[seen] == 1 and "device" not in seen
        return name if is_alone else f"{name} ({self._label(device)})"

    def is_named(self, device: str) -> bool:
        """Whether the device has said a name."""
        return bool(look(self._names.get(device, "")))

    def own(self, device: "Device") -> "list[Draft]":
        """The record that the device has yet to write, if it has a name and has not said it."""
        name = clean(device["name"])
        known = self._names.get(device["id"])
        if not look(name) or name == contract.NO_NAME or known == name or device["id"] in self._struck:
            return []
        return [chain.draft(contract.SHOP, "person", {"name": name})]

    def _label(self, device: str) -> str:
        """ "device 3f2a": as much of its id as tells it from the others that are known here."""
        length = chain.SHORT
        while any(other[:length] == device[:length] for other in self._devices if other != device):
            length += chain.SHORT
            if length >= len(device):
                break
        return chain.nameless(device, length)


def clean(name: str) -> str:
    """A name without what cannot be seen, and no longer than names are."""
    seen = [letter for letter in name if not any(low <= ord(letter) <= high for low, high in UNSEEN)]
    return "".join(seen)[: contract.NAME_LENGTH].strip()


def _newest(records: "list[Record]") -> "dict[str, Record]":
    newest: dict[str, Record] = {}
    for record in records:
        if record["kind"] == contract.PERSON and record["job"] == contract.SHOP:
            known = newest.get(record["device"])
            if known is None or known["seq"] < record["seq"]:
                newest[record["device"]] = record
    return newest


def _name(record: "Record") -> str:
    """ "" when this version does not understand the record: an older name must not come back for it."""
    return clean(record["data"]["name"]) if jobs.counts(record) else ""


def look(name: str) -> str:
    """What two names that look the same have in common: letters and digits, small."""
    kept = []
    for letter in name:
        if "A" <= letter <= "Z":
            letter = chr(ord(letter) + 32)
        # Above ASCII the phone's Python knows neither case nor classes, so all of it counts.
        if "a" <= letter <= "z" or "0" <= letter <= "9" or ord(letter) > 0xBF:
            kept.append(letter)
    return "".join(kept)
