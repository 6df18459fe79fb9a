"""The real content, as the app is given it."""

import copy
import json
from pathlib import Path
from typing import Any

from pwa.build.build import for_app
from pwa.build.content import reader

LOADED = reader.load(Path(__file__).parents[2] / "content")
CONTENT: dict[str, Any] = json.loads(json.dumps(for_app(LOADED)))


# Accepting every caution takes a request each; the same start always ends in the same records.
_accepted: dict[tuple[str, ...], dict[str, Any]] = {}


def accept_all(phone: Any, job: str) -> None:
    """Accept all cautions of a job, and say why the turbo has no photo from before."""
    start = (phone.host, job, str(phone.now), *phone.texts)
    if start not in _accepted:
        for caution in CONTENT["cautions"]:
            phone.post(f"{job}/safe", caution=caution["key"])
        phone.post(f"{job}/unphotographed/repair", reason="The turbo stays closed")
        names = ("now", "texts", "device", "status", "location")
        _accepted[start] = {name: copy.copy(getattr(phone, name)) for name in names}
    for name, value in _accepted[start].items():
        setattr(phone, name, copy.copy(value))
