"""The report says up to which entry each device has signed, and what is not signed yet."""

from tests.helpers.notebooks import Desk


def shown(desk: Desk, path: str) -> str:
    return " ".join(desk.get(f"{path}/summary").select_one("#proof").text.split())


def head(seq: int) -> dict[str, object]:
    return {
        "seq": seq,
        "head": "8c1d22aa90f01b2c" + "f" * 48,
        "time": 1_764_065_263_000,
        "received": 1_764_065_323_000,
    }


def test_it_names_device_entry_hash_and_times(phone, job):
    phone.known["heads"] = {phone.device["id"]: head(phone.device["seq"])}
    said = shown(phone, job)
    assert phone.device["id"] in said
    assert f"Entries up to {phone.device['seq']}: 8c1d 22aa 90f0 1b2c" in said
    assert "Signed 2025-11-25 10:07, countersigned by the shop 2025-11-25 10:08." in said
    assert "not yet signed" not in said


def test_what_came_after_the_last_signature_is_said(phone, job):
    phone.known["heads"] = {phone.device["id"]: head(1)}
    assert f"Later entries, up to {phone.device['seq']}, are not yet signed." in shown(phone, job)


def test_a_phone_that_signed_nothing_says_so(phone, job):
    assert "Not yet signed." in shown(phone, job)


def test_a_phone_does_not_claim_to_know_of_another_ones_signature(phone, job):
    other = Desk(phone.content, name="Another phone")
    other.texts = list(phone.texts)
    assert "Not known on this phone. The report at the desk says it." in shown(other, job)
