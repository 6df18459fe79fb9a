"""A phone's storage as tests need it: a small quota, and forms sent from the page by the dozen."""

from typing import Any

from tests.phone.browser import Browser

# Sends a form as the page would, through the worker; "saved" is the page that comes after it was kept.
SEND = """async ({path, fields, photo, follow}) => {
    const form = new FormData();
    for (const [name, value] of Object.entries(fields)) form.set(name, value);
    if (photo) {
        const noise = new ImageData(photo, photo);
        for (let at = 0; at < noise.data.length; at += 65536) {
            crypto.getRandomValues(noise.data.subarray(at, at + 65536));
        }
        for (let at = 3; at < noise.data.length; at += 4) noise.data[at] = 255;
        const canvas = new OffscreenCanvas(photo, photo);
        canvas.getContext("2d").putImageData(noise, 0, 0);
        const jpeg = await canvas.convertToBlob({type: "image/jpeg"});
        form.set("photo", new File([jpeg], "photo.jpg", {type: "image/jpeg"}));
    }
    const answer = await fetch(path, {method: "POST", body: form, redirect: follow ? "follow" : "manual"});
    return {status: answer.status, type: answer.type, url: answer.url};
}"""


def small(browser: Browser, url: str, quota: int) -> None:
    """Give the origin a quota in bytes. It counts only from before the first write."""
    session = browser.devtools()  # stays open: the quota goes with it
    session.send("Storage.overrideQuotaForOrigin", {"origin": url, "quotaSize": quota})


def send(browser: Browser, path: str, photo: int = 0, **fields: str) -> str:
    """Post a form from the open page, with noise of `photo` px square if any; the address it leads to."""
    answer = _send(browser, path, photo, fields, True)
    assert answer["status"] == 200
    return str(answer["url"])


def save(browser: Browser, path: str, photo: int = 0, **fields: str) -> None:
    """As `send`, and it must have been kept; the page that comes after is not waited for."""
    assert _send(browser, path, photo, fields, False)["type"] == "opaqueredirect"


def _send(browser: Browser, path: str, photo: int, fields: dict[str, str], follow: bool) -> Any:
    asked = {"path": path, "fields": fields, "photo": photo, "follow": follow}
    return browser.page.evaluate(SEND, asked)
