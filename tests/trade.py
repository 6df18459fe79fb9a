"""The real content without the compiled model, for screens that ask nothing of it."""

import json
from pathlib import Path
from typing import Any

from pwa.build import content

CONTENT: dict[str, Any] = json.loads(
    json.dumps(content.load(Path(__file__).parent.parent / "content").model_dump())
)


def accept_all(phone: Any, job: str) -> None:
    for caution in CONTENT["cautions"]:
        phone.post(f"{job}/safe", caution=caution["key"])
