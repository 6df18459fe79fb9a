"""The real content, as the app is given it."""

import json
from pathlib import Path
from typing import Any

from pwa.build import content
from pwa.build.build import for_app

CONTENT: dict[str, Any] = json.loads(
    json.dumps(for_app(content.load(Path(__file__).parent.parent / "content")))
)


def accept_all(phone: Any, job: str) -> None:
    for caution in CONTENT["cautions"]:
        phone.post(f"{job}/safe", caution=caution["key"])
    phone.post(f"{job}/unphotographed/repair", reason="The turbo stays closed")
