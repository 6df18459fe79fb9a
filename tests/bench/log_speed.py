"""How fast the phone's interpreter reads 100,000 rows: `python -m tests.bench.log_speed`.

Prints and judges nothing: timings depend on the machine. A phone is taken to have a quarter of its speed.
"""

import random
from collections.abc import Iterator
from pathlib import Path

from tests.helpers.twin import MicroPython

ROWS = 100_000
PIECE = 65_536
SLOWER = 4
# Rather more of what the job needs than a real bus has: half of the frames carry parameters.
HEARD = ["0CF00400", "10FDA300", "18FDD500", "18FEF600", "0CF00300", "18F00E00", "18FEDF00", "1CFE9200"]
SCRIPT = """
from pwa.engine.logs import plot, reader
log = reader.Reader()
def passed(piece):
    return len(piece)
def feed(piece):
    log.feed(piece)
    return log.rows
def finish():
    found = log.finish()
    return [found["rows"], found["damaged"]["count"], len(found["signals"])]
def thin(key):
    return len(plot.thin(log.series(key)[0], log.series(key)[1], 360))
"""


def candump(chance: random.Random) -> Iterator[str]:
    for index in range(ROWS):
        data = "".join(f"{chance.randrange(250):02X}" for _ in range(8))
        yield f"({1000 + index / 1000:.6f}) can0 {HEARD[index % len(HEARD)]}#{data}\n"


def asc(chance: random.Random) -> Iterator[str]:
    yield "base hex  timestamps absolute\n"
    for index in range(ROWS):
        data = " ".join(f"{chance.randrange(250):02X}" for _ in range(8))
        yield f"  {index / 1000:.6f} 1  {HEARD[index % len(HEARD)]}x       Rx   d 8 {data}\n"


def table(chance: random.Random, decimal: str = ".") -> Iterator[str]:
    yield "Time (s);Engine speed (rpm);Boost (kPa);VGT command (%);VGT position (%);EGR position (%);a;b\n"
    for index in range(ROWS):
        row = ";".join(f"{chance.uniform(0, 100):.2f}" for _ in range(7))
        yield f"{index / 100:.2f};{row}\n".replace(".", decimal)


def main() -> None:
    forms = {
        "candump": (candump(random.Random(1)), "engine-speed"),
        "ASC": (asc(random.Random(1)), "engine-speed"),
        "table": (table(random.Random(1)), "boost"),
        "table, decimal comma": (table(random.Random(1), ","), "boost"),
    }
    print(f"{ROWS} rows in pieces of {PIECE} bytes; seconds of the processor, at 1/{SLOWER} of its speed")
    print(f"{'':<24}{'all':>8}{'longest piece':>16}{'picture of 360 columns':>26}")
    for name, (lines, key) in forms.items():
        measure(name, "".join(lines), key)


def measure(name: str, text: str, key: str) -> None:
    phone = MicroPython()
    write = f"with open('/lib/log_speed.py', 'w') as file: file.write({SCRIPT!r})"
    phone.call(module="builtins", name="exec", call=True, args=[write, {}], kwargs={})
    pieces = [text[at : at + PIECE] for at in range(0, len(text), PIECE)]
    passing = [used(phone, "passed", piece)[0] for piece in pieces]  # which a phone does without
    spent = [used(phone, "feed", piece)[0] for piece in pieces]
    done, found = used(phone, "finish")
    drawn, _ = used(phone, "thin", key)
    phone.close()
    assert found[:2] == [ROWS, 0], found
    total = sum(spent) + done - sum(passing)
    longest = max(spent) - sum(passing) / len(pieces)
    print(f"{name:<24}{SLOWER * total:8.2f}{SLOWER * longest:16.2f}{SLOWER * drawn:26.2f}")


def used(phone: MicroPython, name: str, *args: str) -> tuple[float, list[int]]:
    """Seconds of the processor that a call takes: other work on this machine does not count."""
    before = processor(phone)
    answer = phone.call(module="log_speed", name=name, call=True, args=list(args), kwargs={})
    return processor(phone) - before, answer["value"]


def processor(phone: MicroPython) -> float:
    threads = Path(f"/proc/{phone.pid}/task")
    return sum(int((task / "schedstat").read_text().split()[0]) for task in threads.iterdir()) / 1e9


if __name__ == "__main__":
    main()
