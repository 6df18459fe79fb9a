"""The host of a recording on both interpreters, and recordings to give it. All data is generated."""

import importlib
import json
import random
from pathlib import Path
from typing import Any

import jinja2.runtime

from pwa import templates
from tests.helpers.trade import CONTENT
from tests.helpers.twin import MicroPython, equal

PIECE = 65_536
STEPS = (10, 90, 30, 70, 50)  # % of command, each held for eight seconds
# 641/7, counted once, and 102/4, counted five times: SPN in 19 bits, low byte first, FMI in five (J1939-73).
CODES = ("18FECA00#440081020701FFFF", "18FECA21#040066000405FFFF")
HEAD = "Time (s);Engine speed (rpm);Boost (kPa);VGT desired (%);VGT actual (%);Note\n"


class Reading:
    """Calls `pwa/phone/recorder.py` on CPython and on MicroPython; both must answer alike, to the byte."""

    def __init__(self, micropython: MicroPython, folder: Path) -> None:
        self._phone = micropython
        jinja2.runtime.environment = templates.environment()  # type: ignore[attr-defined]
        try:
            self._here: Any = importlib.import_module("pwa.phone.recorder")
        finally:
            del jinja2.runtime.environment  # type: ignore[attr-defined]
        vars(self._here)["PIECE"] = str(folder / "piece")
        self.ask("start", json.dumps(CONTENT))

    def ask(self, name: str, *args: str) -> Any:
        said = self._phone.call(module="pwa.phone.recorder", name=name, call=True, args=args, kwargs={})
        here = getattr(self._here, name)(*args)
        assert "value" in said, f"MicroPython: {said}"
        if here is None:
            return None
        answers = [json.loads(text) for text in (here, said["value"])]
        for answer in answers:
            if answer.get("kept"):
                answer["kept"] = json.loads(answer["kept"])
        assert equal(*answers), f"CPython says {answers[0]}, MicroPython {answers[1]}"
        return answers[0]

    def read(self, text: str, name: str = "drive.csv", remembered: dict[str, Any] | None = None) -> Any:
        """A whole file, in pieces as the worker sends them; what the page is given then."""
        data = text.encode()
        self.ask("begin", json.dumps({"name": name, "size": len(data), "remembered": remembered or {}}))
        return self.again(text)

    def again(self, text: str) -> Any:
        data = text.encode()
        for at in range(0, len(data), PIECE):
            answer = self.take(data[at : at + PIECE])
            if "refused" in answer:
                return answer
        return self.ask("finish")

    def take(self, piece: bytes) -> Any:
        Path(self._here.PIECE).write_bytes(piece)
        write = f"with open('/piece', 'wb') as file: file.write({piece!r})"
        self._phone.call(module="builtins", name="exec", call=True, args=[write, {}], kwargs={})
        return self.ask("take")


def drive(rows: int = 4000, stick: float = 0.0, head: str = HEAD) -> str:
    """A table of a drive with decimal commas, a row every 10 ms.

    From `stick` on the vanes stand still at 60 %, on their way up, for two seconds of every forty.
    """
    chance = random.Random(7)
    position, lines = 10.0, [head]
    for row in range(rows):
        time = row / 100
        command = STEPS[int(time / 8) % len(STEPS)]
        position += 0.05 * (command - position)
        if stick and 8 <= time % 40 < 10:
            position = min(position, stick)
        seen = position + chance.uniform(-0.1, 0.1)
        numbers = f"{time:.2f};{1400 + command};{120 + position / 4:.1f};{command};{seen:.2f}"
        lines.append(numbers.replace(".", ",") + ";x\n")
    return "".join(lines)


def bus(rows: int = 4000) -> str:
    """Frames as candump writes them: command and position in turn, and now and then a DM1 of each sender."""
    position, lines = 10.0, []
    for row in range(rows):
        time = row / 200
        command = STEPS[int(time / 8) % len(STEPS)]
        position += 0.03 * (command - position)
        if row % 200 == 7:
            lines.append(f"({time:.6f}) can0 {CODES[row // 200 % 2]}\n")
        elif row % 2:
            lines.append(f"({time:.6f}) can0 18FDD500#FFFFFFFFFFFFFF{round(position / 0.4):02X}\n")
        else:
            lines.append(f"({time:.6f}) can0 18FDA300#FFFF{round(command / 0.4):02X}FFFFFFFFFF\n")
    return "".join(lines)
