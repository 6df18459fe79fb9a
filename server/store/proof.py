"""Whether every chain is still what its device signed. Who rewrites history with new hashes is found here."""

from collections.abc import Iterator
from typing import Any

from pwa.app.record.chain import link
from server import signing
from server.store.database import Store

HEADS = (
    "select heads.*, of_device.spki as spki, of_shop.spki as shop_spki, records.text as text from heads"
    " left join keys as of_device on of_device.device = heads.device and of_device.key = heads.key"
    " left join keys as of_shop on of_shop.device = '' and of_shop.key = heads.shop_key"
    " left join records on records.device = heads.device and records.seq = heads.seq"
    " order by heads.device, heads.seq"
)
UNSIGNED = (
    "select count(*) as records, count(distinct device) as devices from records where seq >"
    " coalesce((select max(seq) from heads where heads.device = records.device), 0)"
)


def broken(store: Store) -> Iterator[str]:
    """What was signed and is not so any more: of each device, from which record on."""
    with store.reading() as db:
        device, sound, is_rewritten = "", 0, False
        for row in db.query(HEADS):
            if row["device"] != device:
                device, sound, is_rewritten = row["device"], 0, False
            wrong = signatures(row)
            if wrong:
                yield f"signed head {row['seq']} of device {device}: {wrong}"
            elif row["text"] is not None and link(row["text"]) == row["head"]:
                sound = row["seq"]
            elif not is_rewritten:  # what comes after it was signed on top of it
                is_rewritten = True
                yield f"device {device}: {_rewritten(sound + 1, row)}"


def _rewritten(first: int, row: dict[str, Any]) -> str:
    if row["text"] is None:
        return f"record {row['seq']}, which it signed, is gone"
    seq = row["seq"]
    return f"its history was rewritten, from record {first} on or later: record {seq} is not what it signed"


def signatures(head: dict[str, Any]) -> str:
    """What is wrong with a signed head itself (`spki` and `shop_spki`: the keys it names), or ""."""
    said = signing.Head(head["device"], head["seq"], head["head"], head["time"])
    for key, spki in ((head["key"], head["spki"]), (head["shop_key"], head["shop_spki"])):
        if not _is_key(key, spki):
            return "the key that signed it is gone or was exchanged"
    if not signing.fits(head["spki"], said.text, head["signature"]):
        return "it was altered, or the device did not sign it"
    text = signing.countersigned_text(said, head["signature"], head["received"])
    if not signing.fits(head["shop_spki"], text, head["countersignature"]):
        return "it was altered, or the shop did not countersign it"
    return ""


def _is_key(key: str, spki: str | None) -> bool:
    try:
        return bool(spki) and signing.key_id(spki or "") == key
    except ValueError:
        return False


def unsigned(store: Store) -> Iterator[str]:
    """How much has no signature yet, which is no fault: it has to be sent, or its phone has no key."""
    found = store.rows(UNSIGNED)[0]
    if found["records"]:
        yield f"not signed yet: {found['records']} records, of {found['devices']} devices"


def printed(store: Store, device: str, seq: int, digits: str) -> str:
    """What is wrong with a printed line of proof (device, last entry, first digits of its hash), or ""."""
    rows = store.rows("select text from records where device = ? and seq = ?", [device, seq])
    if not rows:
        return f"printed: entry {seq} of device {device} is not here"
    if not digits or not link(rows[0]["text"]).startswith(digits):
        return f"printed: entry {seq} of device {device}, or one before it, is not what was printed"
    return ""
