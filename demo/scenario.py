"""The invented shop: three trucks, three jobs, played through the real app and the real sync.

Every truck, person, value and photo here is made up.
"""

import json
from collections.abc import Callable
from typing import TYPE_CHECKING

from bs4 import BeautifulSoup

from demo import photos
from demo.phone import Phone
from pwa.app.evidence.isolation import isolate, percent
from pwa.app.progress import missing
from pwa.app.record import chain, jobs, price_sheet
from pwa.app.story import text_of
from pwa.engine.evidence.sides import STANDING
from server.desk import notebook
from server.store.shop import Shop

if TYPE_CHECKING:
    from pwa.app.shapes import Content


def load(url: str, shop: Shop, say: Callable[[str], None]) -> None:
    """Play the three jobs on two phones and send them to the shop."""
    book = notebook.load(shop.settings.dist, notebook.Pages())
    first, second = Phone(url, book), Phone(url, book)
    first.enrol(shop.new_code("phone"), "Bay phone (invented)")
    second.enrol(shop.new_code("phone"), "Road phone (invented)")
    pictures = photos.scenes()
    for phone, play in ((second, electrical), (first, mechanical), (second, upstream)):
        say(f"loading the invented job: {play.__doc__}")
        play(Player(phone, pictures))
        phone.sync()


class Player:
    """A technician's thumbs: presses through one job's screens."""

    def __init__(self, phone: Phone, pictures: dict[str, photos.Scene]) -> None:
        self.phone, self.pictures = phone, pictures
        self.job = ""

    def start(self, **fields: str) -> None:
        self.phone.post("/job/new", {"engine": "inline-six-heavy", "distance": "", "hours": "", **fields})
        self.job = self.phone.path
        while True:  # read and accept, one after the other, until none is left
            page = BeautifulSoup(self.phone.get(f"{self.job}/safe"), "html.parser")
            waiting = page.select_one("input[name=caution]")
            if waiting is None:
                return
            self.post("safe", caution=str(waiting["value"]))

    def post(self, step: str, **fields: str) -> str:
        return self._accepted(step, self.phone.post(f"{self.job}/{step}", dict(fields)))

    @staticmethod
    def _accepted(step: str, page: str) -> str:
        refused = BeautifulSoup(page, "html.parser").select_one("[role=alert]")
        if refused is not None:
            raise RuntimeError(f"{step}: {refused.get_text(' ', strip=True)}")
        return page

    def codes(self, *typed: str) -> None:
        for code in typed:
            self.post("codes", typed=code)
        self.post("codes/done")

    def answer(self, **outcomes: str) -> None:
        for finding, outcome in outcomes.items():
            self.post("isolate", finding=finding.replace("_", "-"), outcome=outcome)

    def mark(self, scene: str, joint: str, moment: str) -> None:
        """Photograph a joint and tap what the drawing is known to show, within a pixel or so."""
        picture, truth = photos.render(self.pictures[f"{scene}/{joint}/{moment}"])
        fields: dict[str, str | list[str]] = {
            "joint": joint, "moment": moment, "caption": f"{joint} {moment} (drawn, invented)",
            "width": "1200", "height": "900", "then": f"{self.job}/joint/{joint}",
        }  # fmt: skip
        self._accepted("photo", self.phone.post(f"{self.job}/photo", fields, picture))
        sha256 = list(self.phone.photos)[-1]
        taps = {"rim": truth.rim, "fixed": truth.fixed, "moving": truth.moving, "centre": truth.centre}
        self.post(f"marks/{sha256}", **{name: json.dumps(value) for name, value in taps.items()})

    def tolerance(self, joint: str, bolts: str = "") -> None:
        source = "invented shop rule"
        self.post(f"joint/{joint}/tolerance", degrees="2", source=source, bolts=bolts)

    def torque(self, place: str, count: int, torque: str) -> None:
        sheet = {"count": str(count), "torque": torque, "unit": "N·m", "kind": "cross"}
        page = self.post(f"fasteners/{place}", source="invented manual, page 1", **sheet)
        for _ in range(count):
            bolt = BeautifulSoup(page, "html.parser").select_one("input[name=bolt]")
            assert bolt is not None
            page = self.post(f"fasteners/{place}/tick", bolt=str(bolt["value"]), actual=torque)

    def prove(self, **values: str) -> None:
        for proof, value in values.items():
            self.post("prove", proof=proof.replace("_", "-"), result="passed", value=value, note="")


def electrical(player: Player) -> None:
    """electrical: a chafed harness at the roadside"""
    player.start(
        unit="Heron 4 (invented)", complaint="No power over bumps, comes back by itself",
        place="roadside", drive="electric", distance="412000 km", hours="8120",
    )  # fmt: skip
    player.codes("641/5", "P0299")
    player.post("measure/supply-drop", battery="25.6", pin="25.3")
    player.post("measure/ground-drop", drop="0.05")
    player.post("measure/reference-voltage", reference="4.98")
    player.post("measure/hand-sweep", **hand_sweep(stops_at=1.0))
    player.answer(moves_with_harness="yes", worse_on_bumps="yes", harness_look="yes", water_in_plug="no")
    player.post("unphotographed/repair", reason="The turbo stays closed")
    player.post("repair", repair="repair-wiring", note="Chafed at the bracket behind the alternator")
    player.post("cause", cause="harness-fault", decision="named", reason="chafed through to the copper")
    player.post("cause", cause="rest", decision="excluded", reason="wiring damage, nothing upstream seen")
    player.prove(sweep_again="2", drop_again="0.2", road_test="210", codes_clear="none")
    player.post("note", text="Clip was missing; new clip and sleeve fitted.")
    player.post("summary", outcome="done", note="Look at the sleeve at the next service.")


def mechanical(player: Player) -> None:
    """mechanical: stuck vanes, and a housing that went back turned"""
    player.start(
        unit="Otter 12 (invented)", complaint="Slow uphill, worse every week",
        place="bay", drive="electric", distance="655000 km", hours="21400",
    )  # fmt: skip
    player.codes("641/7")
    player.post("measure/supply-drop", battery="24.9", pin="24.7")
    player.answer(actuator_off_turbo="yes", actuator_sounds="weak", idle_share="yes")
    player.post("measure/hand-sweep", **hand_sweep(stops_at=0.6))
    for joint in ("turbine-housing", "compressor-housing"):
        player.tolerance(joint)
        player.mark("mechanical", joint, "before")
    player.answer(soot_seen="yes")
    player.post("repair", repair="clean", note="Soot, dry; ring without wear")
    for joint in ("turbine-housing", "compressor-housing"):
        player.mark("mechanical", joint, "after")
    player.torque("turbine-housing-bolts", 8, "32")
    player.post("cause", cause="idling-duty", decision="named", reason="9100 of 21400 hours are idle")
    player.post("note", text="Compressor housing is 6 degrees off its mark: turn it back before the test.")


def upstream(player: Player) -> None:
    """both, with a cause upstream: coolant on the vanes, and a worn actuator"""
    player.start(
        unit="Badger 9 (invented)", complaint="No power, coolant topped up three times",
        place="bay", drive="electric", distance="530000 km", hours="11050",
    )  # fmt: skip
    player.codes("641/7", "P2457")
    player.answer(actuator_off_turbo="no", coolant_loss="yes", oil_use="no")
    player.post("measure/hand-sweep", **hand_sweep(stops_at=0.5))
    player.tolerance("turbine-housing", "8")
    for moment in ("before", "after"):
        player.mark("upstream", "turbine-housing", moment)
    player.post("repair", repair="egr-cooler", note="EGR cooler replaced")
    player.post("repair", repair="replace-turbo-and-actuator", note="Vanes crusted white")
    player.post("cause", cause="egr-cooler-leak", decision="named", reason="lost pressure cold in 10 minutes")
    player.prove(calibration="")


def hand_sweep(stops_at: float) -> dict[str, str]:
    """Volts of a 5 V sensor along the lever's way, which ends early (1.0 is the whole): a synthetic sweep."""
    ways = {"stop_a": 0.0, "quarter": 0.25, "half": 0.5, "three_quarters": 0.75, "stop_b": 1.0}
    volts = {name: f"{0.5 + 4.0 * way * stops_at:.2f}" for name, way in ways.items()}
    return {"reference": "5.00", "smallest": volts["stop_a"], "largest": volts["stop_b"], **volts}


def report(shop: Shop) -> str:
    """What the shop sees: each job's standing, what was found and what is still missing."""
    content: Content = json.loads((shop.settings.dist / "phone/content.json").read_bytes())
    sheet = price_sheet.sheet(shop.ledger.of_kinds(["prices"]))
    parts = ["The shop's view (everything in it is invented)"]
    for opened in shop.ledger.of_kinds(["job-opened"]):
        records = chain.in_order(shop.ledger.of_job(opened["job"]))
        job = jobs.fold(opened["job"], records)
        found = isolate(job, content, sheet)
        standing = ", ".join(f"{words.lower()} {percent(found['standing'][key])}" for key, words in STANDING)
        parts += ["", f"{job['opened']['unit']}: {job['opened']['complaint']}", f"  standing  {standing}"]
        parts.append(f"  suspect   {found['suspects'][0]['name']} {percent(found['suspects'][0]['p'])}")
        for record in records:
            if record["kind"] in ("reading", "marks", "repair", "cause", "job-closed"):
                parts.append(f"  {record['kind']:<9} {text_of(record, content)}")
        parts += [f"  missing   {item}" for item in missing(job, content)]
    return "\n".join(parts)
