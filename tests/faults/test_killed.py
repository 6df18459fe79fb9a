"""The browser is killed at random moments while it saves notes and photos: nothing called saved is lost.

More rounds: `python -m tests.faults.test_killed --rounds 500 --seed 7`.
"""

import argparse
import json
import random
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from pwa.build.build import build
from tests.helpers.servers import Server
from tests.phone.browser import Browser

ROUNDS = 6  # daily
ROUNDS_A_JOB = 5  # a long job takes longer to answer, and a kill then hits fewer saves
LONGEST = 900  # ms from the first save to the kill

# Saves notes and photos as fast as the worker takes them, and says so of each that was kept.
SAVE = """({path, round}) => {
    const post = (to, form, name) => fetch(path + to, {method: "POST", body: form, redirect: "manual"})
        .then(answer => answer.type === "opaqueredirect" && console.log("saved " + name));
    const noise = size => crypto.getRandomValues(new Uint8Array(size));
    const save = async n => {
        const name = `${round}-${n}`, form = new FormData();
        if (n % 2) {
            form.set("text", name);
            return post("/note", form, name);
        }
        form.set("caption", name);
        form.set("photo", new File([noise(9000)], "photo.jpg", {type: "image/jpeg"}));
        return post("/photo", form, name);
    };
    (async () => {
        for (let n = 0; n < 200; n += 1) n % 5 ? await save(n) : void save(n);
    })();
}"""

# Whether the page keeps nothing under this key, in either of its places.
NO_DRAFT = """async key => {
    const opening = indexedDB.open("layby-page");
    await new Promise(done => { opening.onsuccess = done; });
    const asked = opening.result.transaction("kept").objectStore("kept").get(key);
    await new Promise(done => { asked.onsuccess = done; });
    opening.result.close();
    return asked.result === undefined && localStorage.getItem(key) === null;
}"""


class Killed:
    """One phone that dies again and again."""

    def __init__(self, phone: Browser, root: str, seed: int) -> None:
        self.phone, self.root, self.chance = phone, root, random.Random(seed)
        self.called_saved = 0
        phone.install(root)

    def round(self, number: int) -> None:
        """Save until the browser is killed, start it again, and look at what is there."""
        page, typed = self.phone.page, f"{number}-typed"
        if number % ROUNDS_A_JOB == 0:
            page.goto(f"{self.root}/rescue.html")
            self.path = self.phone.new_job()
            page.goto(f"{self.root}{self.path}/note")
        self.phone.console.clear()
        page.fill("textarea", typed)
        page.evaluate("() => new Promise(done => setTimeout(done))")  # the field's own event has run
        page.evaluate(SAVE, {"path": self.path, "round": number})
        if number % 3 == 0:
            page.click("button:has-text('Save note')", no_wait_after=True)
        page.wait_for_timeout(self.chance.uniform(0, LONGEST))
        self.phone.kill()
        saved = [line.split()[1] for line in self.phone.console if line.startswith("saved ")]
        self.phone.start()
        self._look(saved, typed)

    def _look(self, saved: list[str], typed: str) -> None:
        phone, page = self.phone, self.phone.page
        page.goto(f"{self.root}/rescue.html")
        names = self._names()
        assert not set(saved) - set(names), "called saved, and lost"
        self._whole()
        waiting = {words for entry in phone.stored("journal") for words in _typed(entry["form"])}
        if waiting:
            page.goto(f"{self.root}/phone")
            page.click("button:has-text('Try again')")
            page.wait_for_function("() => !document.querySelector('form[action=\"/phone/retry\"]')")
            assert phone.stored("journal") == []
            self._whole()
            names = self._names()
            assert waiting <= set(names), "journalled, and lost"
        assert len(names) == len(set(names)), "there twice"
        page.goto(f"{self.root}{self.path}/note")
        if typed not in names:  # then it is in the form
            page.wait_for_function("text => document.querySelector('textarea').value === text", arg=typed)
        else:  # a draft would be saved a second time
            page.wait_for_function(NO_DRAFT, arg=f"draft {self.path}/note text")
            assert page.input_value("textarea") == ""
        self.called_saved += len(saved)

    def _records(self) -> list[dict[str, Any]]:
        return [json.loads(row["text"]) for row in self.phone.stored("records")]

    def _names(self) -> list[str]:
        data = [record["data"] for record in self._records() if record["kind"] in ("note", "photo")]
        return [it.get("text") or it.get("caption", "") for it in data]

    def _whole(self) -> None:
        records = self._records()
        named = {record["data"]["sha256"] for record in records if record["kind"] == "photo"}
        waiting = [entry["form"].get("photo_sha256", []) for entry in self.phone.stored("journal")]
        photos = {photo["sha256"] for photo in self.phone.stored("photos")}
        assert named | {hash for hashes in waiting for hash in hashes} == photos, "half a pair"
        assert sorted(record["seq"] for record in records) == list(range(1, len(records) + 1))


def _typed(form: dict[str, list[str]]) -> list[str]:
    return form.get("text", []) + form.get("caption", [])


def test_a_browser_killed_while_saving_loses_nothing_and_writes_nothing_twice(
    new_browser: Callable[..., Browser], server: Server, rounds: Callable[[int, str], int]
) -> None:
    killed = Killed(new_browser(), server.url, 1)
    count = rounds(ROUNDS, "kills of the browser")
    for number in range(count):
        killed.round(number)
    assert killed.called_saved > count


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--rounds", type=int, default=500)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        root = Path(folder)
        build(root / "dist")
        server = Server(root, root / "dist")
        phone = Browser(playwright, root / "profile")
        try:
            killed = Killed(phone, server.url, given.seed)
            for number in range(given.rounds):
                killed.round(number)
                print(f"round {number + 1}: {killed.called_saved} called saved, none lost", flush=True)
        finally:
            phone.kill()
            server.stop()


if __name__ == "__main__":
    main()
