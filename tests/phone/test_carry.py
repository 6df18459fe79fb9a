"""Jobs between phones without a network or a server: the code as a picture, the file saved and taken in."""

import io
import json
import zipfile
from pathlib import Path

import httpx
import pytest
from PIL import Image

from pwa.app.record import chain
from tests.helpers.qr import read_qr
from tests.helpers.servers import Server, sign_in
from tests.phone.browser import PATIENCE, Browser


@pytest.fixture
def phone(browser: Browser, server: Server) -> Browser:
    browser.install(server.url)
    return browser


@pytest.fixture
def other(new_browser, server: Server) -> Browser:
    second: Browser = new_browser()
    second.install(server.url)
    return second


def work(phone: Browser, root: str, picture: Path) -> str:
    """A job with two answers and a photo; its path."""
    path = phone.new_job("Truck 7")
    for finding, outcome in (("supply-drop", "high"), ("hand-sweep", "smooth")):
        phone.page.goto(f"{root}{path}/isolate?check={finding}")
        phone.page.click(f"button[value={outcome}]")
        phone.page.wait_for_url("**/isolate?moved=*")
    phone.page.goto(f"{root}{path}/note")
    phone.page.locator("form.photo input[type=file]").set_input_files(picture)
    phone.page.wait_for_selector("img[src^='/photo/']")
    return path


def saved(phone: Browser, folder: Path, name: str) -> Path:
    """The file behind the open page's link, as the browser saves it."""
    session = phone.devtools()
    session.send(
        "Browser.setDownloadBehavior",
        {"behavior": "allow", "downloadPath": str(folder), "eventsEnabled": True},
    )
    phone.page.click("a[data-file]")
    phone.page.wait_for_selector(f"a[data-file]:has-text('Save {name}')")
    phone.page.click("a[data-file]")
    for _ in range(PATIENCE * 10):
        if (folder / name).exists():
            break
        phone.page.wait_for_timeout(100)
    session.detach()
    return folder / name


def test_a_job_goes_from_phone_to_phone_and_to_the_desk_without_a_network(
    phone: Browser, other: Browser, server: Server, tmp_path: Path
) -> None:
    picture = tmp_path / "picture.png"
    Image.effect_noise((300, 200), 80).save(picture)
    root = server.url
    server.stop()
    path = work(phone, root, picture)
    phone.page.goto(f"{root}{path}/send")
    phone.page.wait_for_selector(".qr svg")
    code = phone.page.get_attribute("[data-qr]", "data-qr") or ""
    assert read_qr(phone.page.locator(".qr").screenshot()) == code

    file = saved(phone, tmp_path, "layby-job.zip")
    with zipfile.ZipFile(file) as content:
        assert content.testzip() is None
        about = json.loads(content.read("layby.json"))
        lines = content.read("records.jsonl").decode().splitlines()
        assert sorted(lines) == sorted(row["text"] for row in phone.stored("records"))
        photos = [name for name in content.namelist() if name.startswith("photos/")]
    assert (about["records"], about["photos"], len(photos)) == (len(lines), 1, 1)

    page = other.page
    page.goto(f"{root}/files")
    page.set_input_files("#f-file", file)
    page.wait_for_selector(f"#taken:has-text('{len(lines)} entries of 1 jobs and 1 photos taken in')")
    page.set_input_files("#f-file", [])
    page.set_input_files("#f-file", file)
    page.wait_for_selector(f"#taken:has-text('{len(lines)} entries were here already')")
    page.goto(f"{root}{path}/timeline")
    assert page.evaluate("document.querySelector('img[src^=\"/photo/\"]').decode().then(() => true)")
    assert {row["sha256"] for row in other.stored("photos")} == {Path(photos[0]).stem[:64]}

    page.goto(f"{root}/case")
    page.fill("[name=code]", f"Truck 7, case code: {code[:6].lower()} {code[6:]}")
    page.click("button:has-text('Read')")
    page.wait_for_selector("h1:has-text('What the code says')")
    page.fill("[name=unit]", "Truck 7 by code")
    page.click("button:has-text('Start the job')")
    page.wait_for_selector("h1:has-text('Truck 7 by code')")
    texts = [json.loads(row["text"]) for row in other.stored("records")]
    found = [record["data"] for record in texts if record["data"].get("by") == "case code"]
    assert {data["finding"]: data["outcome"] for data in found} == {
        "supply-drop": "high",
        "hand-sweep": "smooth",
    }

    server.start()
    desk = httpx.Client(base_url=root, headers={"Sec-Fetch-Site": "same-origin"})
    sign_in(server.shop, desk)
    told = desk.post("/desk/files", content=file.read_bytes()).json()
    assert (told["taken"], told["photos"], told["refused"]) == (len(lines), 1, 0)
    assert "Truck 7" in desk.get(f"/desk{path}").text


def test_a_phone_names_what_it_does_not_believe_and_keeps_the_rest(phone: Browser, server: Server) -> None:
    page, root = phone.page, server.url
    device = {"id": "other", "name": "Other", "seq": 0, "head": "", "clock": ""}
    drafts = [chain.draft("job", "note", {"text": f"note {n}"}) for n in range(3)]
    texts, _ = chain.seal(drafts, device, 1_764_065_263_000, "0123456789abcdef" * 8, "")  # type: ignore[arg-type]
    forged = texts[1].replace("note 1", "note 9")
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as content:
        content.writestr(
            "records.jsonl", "\n".join(["{", texts[0], forged, texts[2], "[" * 9000, json.dumps(texts[0])])
        )
        content.writestr("photos/../../../evil", b"<script>")
        content.writestr("__proto__", b"x")
    server.stop()

    def take(name: str, buffer: bytes) -> str:
        page.goto(f"{root}/files")
        page.set_input_files("#f-file", {"name": name, "mimeType": "application/zip", "buffer": buffer})
        page.wait_for_selector("#taken:not(:has-text('Reading')) p")
        return page.inner_text("#taken")

    told = take("odd.zip", file.getvalue())
    assert "2 entries of 1 jobs and 0 photos taken in; 1 entries were here already." in told
    assert "Line 1: this is no entry." in told
    assert "Line 4: It does not follow the entry before it" in told
    assert "Photo 1: no entry names it" in told
    assert sorted(row["text"] for row in phone.stored("records")) == sorted([texts[0], forged])
    for buffer in (b"", b"no zip", file.getvalue()[:-30], zipped("something else")):
        assert "Nothing was taken in." in take("broken.zip", buffer)
    page.goto(f"{root}/")
    page.wait_for_selector("h1:has-text('Jobs')")


def test_a_file_goes_to_the_share_sheet_where_there_is_one(phone: Browser, server: Server) -> None:
    page = phone.page
    server.stop()
    phone.new_job("Truck 7")
    page.goto(f"{server.url}/files")
    page.evaluate(
        """() => {
            navigator.canShare = ({files}) => files[0].type === "application/zip";
            navigator.share = async ({files: [it]}) => { document.title = `${it.name} ${it.size > 500}`; };
        }"""
    )
    page.click("a[data-file]")
    page.click("button:has-text('Share it')")
    page.wait_for_function("document.title === 'layby-all.zip true'")


def zipped(name: str) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as content:
        content.writestr(name, "x")
    return file.getvalue()
