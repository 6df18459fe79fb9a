"""What a sync costs when the shop has grown: `python -m tests.bench.sync_growth`.

One phone sends a record and fetches one that another phone sent, against a server with 1,000 records and one
with 1,000,000, in turns. The million goes straight into the database. Prints both medians and their ratio.
"""

import gc
import json
import secrets
import statistics
import tempfile
import time
from pathlib import Path

from pwa.app.record import chain
from server.store.database import Store
from tests.helpers.servers import Device, PlainBook, Server

SMALL, LARGE = 1_000, 1_000_000
WRITERS = 50
ROUNDS = 200
AT_ONCE = 50_000
ROW = (
    "insert into records (id, job, device, seq, kind, clock, received, text, ahead)"
    " values (:id, :job, :device, :seq, :kind, :clock, 1, :text, 0)"
)


def fill(store: Store, count: int) -> None:
    """So many records of phones that were here before; a chain's hashes are not looked at again."""
    writers = [secrets.token_hex(16) for _ in range(WRITERS)]
    text = {"v": 1, "author": "A phone", "prev": "0" * 64, "time": 1, "kind": "note", "replaces": []}
    for start in range(0, count, AT_ONCE):
        rows = []
        for n in range(start, min(start + AT_ONCE, count)):
            row = {
                "id": secrets.token_hex(16), "job": f"job-{n // 40}", "device": writers[n % WRITERS],
                "seq": n // WRITERS + 1, "kind": "note", "clock": chain.write_clock(n, 0),
            }  # fmt: skip
            rows.append(
                {**row, "text": json.dumps({**row, **text, "data": {"text": "vanes move freely " * 8}})}
            )
        with store.transaction() as db:
            db.conn.executemany(ROW, rows)


class Pair:
    """Two phones of one shop that has a history."""

    def __init__(self, folder: Path, count: int) -> None:
        folder.mkdir()
        (folder / "dist" / "phone").mkdir(parents=True)
        self.server = Server(folder, folder / "dist", PlainBook())
        fill(self.server.shop.store, count)
        self.one, self.other = Device(self.server), Device(self.server)
        with self.server.shop.store.reading() as db:
            newest = db.conn.execute("select max(cursor) from records").fetchone()[0]
        for phone in (self.one, self.other):
            phone.cursor, phone.epoch = newest, self.server.shop.store.epoch

    def sync(self) -> float:
        """Seconds for one phone to send a record and fetch one."""
        self.other.sync(*self.other.write("theirs"))
        text = self.one.write("mine")
        begun = time.perf_counter()
        said = self.one.sync(*text)
        seconds = time.perf_counter() - begun
        assert len(said["taken"]) == len(said["records"]) == 1
        return seconds


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        pairs = [Pair(Path(folder) / str(count), count) for count in (SMALL, LARGE)]
        gc.disable()
        took = [(pairs[0].sync(), pairs[1].sync()) for _ in range(ROUNDS)]
        for pair in pairs:
            pair.server.stop()
    small, large = (statistics.median(times) for times in zip(*took, strict=True))
    print(f"{SMALL:>9,} records  {1000 * small:.2f} ms")
    print(f"{LARGE:>9,} records  {1000 * large:.2f} ms, {large / small:.2f} times as long")


if __name__ == "__main__":
    main()
