"""Root cause: no job closes as done while an upstream cause is neither named, excluded nor left open."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.job import Job
    from pwa.app.protocol import Content
    from pwa.app.visit import Route


def open_causes(job: "Job", content: "Content") -> "list[dict[str, Any]]":
    """The upstream causes that nobody has decided on yet, as content has them."""
    decided = {record["data"]["cause"] for record in job["settled"] if record["kind"] == "cause"}
    return [
        cause for cause in content["causes"] if cause["fault"] == "upstream" and cause["key"] not in decided
    ]


ROUTES: "list[Route]" = []
