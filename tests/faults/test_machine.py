"""Any order of writing, sending, lost answers, restarts and restored backups: all copies end up the same.

More lives of a shop: `python -m tests.faults.test_machine --rounds 200`.
"""

import argparse
import contextlib
import itertools
import json
import shutil
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from pwa.app.record import chain
from server.backup.archive import backup
from server.backup.restore import restore
from server.store.check import check
from tests.faults.phones import Phone, picture
from tests.helpers.servers import Device, PlainBook, Server, say_yes

DAY = 24 * 3600 * 1000  # ms
NUMBERS = st.integers(0, 2)


class Shop(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.server = Server(self.folder, self.folder, PlainBook())
        self.phones: list[Phone] = []
        self.answers: dict[str, str] = {}  # a record -> one that its writer had read
        self.backups = itertools.count()

    @initialize(years=st.lists(st.integers(-7, 10), min_size=3, max_size=3))
    def enrol(self, years: list[int]) -> None:
        """Three phones, each with a clock that is wrong by some years."""
        for number, off in enumerate(years):
            phone = Phone(Device(self.server, f"Phone {number}"))
            phone.now = time.time_ns() // 1_000_000 + off * 365 * DAY
            self.phones.append(phone)

    @rule(which=NUMBERS, count=st.integers(1, 3))
    def write(self, which: int, count: int) -> None:
        self._written(self.phones[which], self.phones[which].write(*["note"] * count))

    @rule(which=NUMBERS, pick=st.integers(0, 1000))
    def correct(self, which: int, pick: int) -> None:
        phone = self.phones[which]
        if phone.holds:
            old = phone.holds[pick % len(phone.holds)]
            self._written(phone, phone.write("corrected", replaces=[old]), old)

    def _written(self, phone: Phone, texts: list[str], old: str = "") -> None:
        phone.now += 1000
        for text in texts:
            newest = old or next(reversed(phone.received), "")
            if newest:
                self.answers[json.loads(text)["id"]] = newest

    @rule(which=NUMBERS, most=st.integers(1, 5))
    def send(self, which: int, most: int) -> None:
        self._send(self.phones[which], most)

    def _send(self, phone: Phone, most: int = 200) -> dict[str, Any]:
        """As the phone does: another epoch is another store, so all of its own is offered again."""
        epoch = phone.device.epoch
        said = phone.device.sync(*phone.waiting[:most])
        if epoch and said["epoch"] != epoch:
            assert {refusal["error"] for refusal in said["refused"]} <= {"gap"}  # what came before is lacking
            said = {**said, "refused": []}
            phone.note(said)
            phone.waiting = list(phone.written.values())
            phone.photos_waiting, phone.offsets = list(phone.photos), {}
        else:
            phone.note(said)
        return said

    @rule(which=NUMBERS)
    def lose_an_answer(self, which: int) -> None:
        phone = self.phones[which]
        before = phone.device.cursor, phone.device.epoch
        phone.device.sync(*phone.waiting)
        phone.device.cursor, phone.device.epoch = before

    @rule(which=NUMBERS, first=st.integers(0, 10))
    def send_an_old_batch_again(self, which: int, first: int) -> None:
        phone = self.phones[which]
        old = list(phone.acknowledged.values())[first:][:3]
        known = self._stored()
        if set(old) <= known:  # a restored store may lack what came before them
            phone.device.post(*old, cursor=0, epoch="")
            assert self._stored() == known

    @rule(which=NUMBERS)
    def photograph(self, which: int) -> None:
        self.phones[which].photograph(picture(30, 20))
        self.phones[which].now += 1000

    @precondition(lambda self: any(phone.photos_waiting for phone in self.phones))
    @rule(chunk=st.integers(300, 2000))
    def send_a_photo(self, chunk: int) -> None:
        phone = next(phone for phone in self.phones if phone.photos_waiting)
        phone.send_photo(phone.photos_waiting[0], chunk)

    @rule()
    def restart(self) -> None:
        self.server.stop()
        self.server.start()

    @rule(which=NUMBERS)
    def restore_a_backup_that_lacks_something(self, which: int) -> None:
        kept = self.folder / f"backup-{next(self.backups)}"
        backup(self.server.settings.data, kept)
        self.write(which, 1)
        self._send(self.phones[which])
        self.server.stop()
        shutil.rmtree(self.server.settings.data)
        restore(kept, self.server.settings)
        self.server.start()
        say_yes(self.server.shop)
        for phone in self.phones:  # what a backup lacks is acknowledged no more
            kept = self._stored()
            phone.acknowledged = {id: text for id, text in phone.acknowledged.items() if text in kept}
            phone.photos_acknowledged = {
                photo for photo in phone.photos_acknowledged if self.server.shop.photos.has(photo)
            }
            phone.offsets = {}

    def _stored(self) -> set[str]:
        texts = [row["text"] for row in self.server.shop.store.rows("select text from records")]
        assert len(texts) == len(set(texts)), "something is here twice"
        return set(texts)

    @invariant()
    def nothing_acknowledged_is_lost(self) -> None:
        kept = self._stored()
        for phone in self.phones:
            assert set(phone.acknowledged.values()) <= kept
            for photo in phone.photos_acknowledged:
                path = self.server.shop.photos.folder / photo
                assert path.read_bytes() == phone.photos[photo]

    def teardown(self) -> None:
        with contextlib.ExitStack() as ends:
            ends.callback(shutil.rmtree, self.folder)
            ends.callback(self.server.stop)
            for _ in range(2):
                for phone in self.phones:
                    while self._send(phone)["more"] or phone.waiting:
                        pass
                    for photo in list(phone.photos_waiting):
                        phone.send_photo(photo)
            if self.phones:
                self._look()

    def _look(self) -> None:
        """The same set in the same order everywhere, and no answer before what it answers."""
        assert check(self.server.shop).problems == []
        orders = [phone.holds for phone in self.phones]
        assert orders[0] == orders[1] == orders[2]
        here = chain.in_order([json.loads(text) for text in self._stored()])
        assert [record["id"] for record in here] == orders[0]
        place = {id: index for index, id in enumerate(orders[0])}
        assert all(place[old] < place[new] for new, old in self.answers.items())


def play(lives: int) -> None:
    run_state_machine_as_test(
        Shop,
        settings=settings(
            max_examples=lives,
            stateful_step_count=25,
            deadline=None,
            phases=(Phase.generate,),  # shrinking starts servers by the hundred
            suppress_health_check=list(HealthCheck),
        ),
    )


def test_any_order_of_events_ends_with_the_same_everywhere(rounds: Callable[[int, str], int]) -> None:
    play(rounds(3, "lives of a shop"))


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--rounds", type=int, default=200)
    given = asked.parse_args()
    play(given.rounds)
    print(f"{given.rounds} lives, all copies the same")


if __name__ == "__main__":
    main()
