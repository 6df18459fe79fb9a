"""The server killed while phones send records and photos: at random moments, and just after it answered one.

`python -m tests.faults.kill --rounds 2000 --seed 7` prints what was cut. After each kill the store is looked
at as it lies on the disk: all that was acknowledged is there byte for byte, nothing is there twice, and what
`layby check` does finds nothing.
"""

import argparse
import random
import tempfile
import threading
import time
from pathlib import Path
from typing import NamedTuple

from server.store.check import check
from tests.faults.forked import Forge, Forked
from tests.faults.phones import Phone, work

PHONES = 3
ROUNDS_A_SHOP = 25  # looking at everything takes longer the more there is
LONGEST = 0.04  # seconds from the phones' start until the kill
PATIENCE = 5  # seconds until the next answer


class Told(NamedTuple):
    rounds: int
    in_flight: int  # kills that hit at least one request between its first byte and its answer
    records: int  # acknowledged
    photos: int


def run(forge: Forge, folder: Path, rounds: int, seed: int, show: bool = False) -> Told:
    chance = random.Random(seed)
    told = Told(0, 0, 0, 0)
    for number, done in enumerate(range(0, rounds, ROUNDS_A_SHOP)):
        here = _shop(forge, folder / str(number), min(ROUNDS_A_SHOP, rounds - done), chance)
        told = Told(*(sum(pair) for pair in zip(told, here, strict=True)))
        if show:
            print(told, flush=True)
    return told


def _shop(forge: Forge, folder: Path, rounds: int, chance: random.Random) -> Told:
    folder.mkdir()
    server = Forked(forge, folder)
    phones = [Phone(server.device(f"Phone {number}")) for number in range(PHONES)]
    in_flight = 0
    for _ in range(rounds):
        in_flight += _round(server, phones, chance)
        look(server, phones)
        server.start()
    for _ in range(2):  # the second time brings what others sent after one's own turn
        for phone in phones:
            phone.send_all()
    assert phones[0].holds == phones[1].holds == phones[2].holds
    server.kill()
    look(server, phones)
    return Told(
        rounds,
        in_flight,
        sum(len(phone.acknowledged) for phone in phones),
        sum(len(phone.photos_acknowledged) for phone in phones),
    )


def _round(server: Forked, phones: list[Phone], chance: random.Random) -> bool:
    """Whether the kill fell into a request too."""
    threads = [
        threading.Thread(target=work, args=(phone, random.Random(chance.random()))) for phone in phones
    ]
    for thread in threads:
        thread.start()
    time.sleep(chance.random() * LONGEST)
    if chance.random() < 0.5:  # what was said to be stored is stored by then
        answered = chance.choice(phones).answered
        answered.clear()
        answered.wait(PATIENCE)
    before = [(phone.asked, phone.asking) for phone in phones]
    server.kill()
    for thread in threads:
        thread.join()
    return any(
        phone.asking and (phone.asked, True) == seen for phone, seen in zip(phones, before, strict=True)
    )


def look(server: Forked, phones: list[Phone]) -> None:
    """What lies on the disk after a kill, seen before any server has run again."""
    here = server.opened()
    try:
        assert check(here).problems == []
        stored = [row["text"] for row in here.store.rows("select text from records")]
        assert len(stored) == len(set(stored)), "something is here twice"
        kept = set(stored)
        for phone in phones:
            lost = set(phone.acknowledged.values()) - kept
            assert not lost, f"acknowledged and gone: {lost}"
            for photo in phone.photos_acknowledged:
                assert (here.photos.folder / photo).read_bytes() == phone.photos[photo]
    finally:
        here.close()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=random.randrange(10**6))
    given = parser.parse_args()
    print("seed", given.seed, flush=True)
    forge = Forge()
    with tempfile.TemporaryDirectory() as folder:
        begun = time.monotonic()
        run(forge, Path(folder), given.rounds, given.seed, show=True)
        print(f"{time.monotonic() - begun:.0f} s")
    forge.close()


if __name__ == "__main__":
    main()
