"""Make safe: the cautions that apply here and now, each accepted before a hands-on step opens."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Any

    from pwa.app.job import Job
    from pwa.app.protocol import Content
    from pwa.app.visit import Route


def missing_cautions(job: "Job", content: "Content", step: str) -> "list[dict[str, Any]]":
    """The cautions before `step` ("" for any step) that apply to this job and are not accepted yet."""
    opened = job["opened"]
    return [
        caution
        for caution in content["cautions"]
        if opened["drive"] in caution["drives"]
        and opened["place"] in caution["places"]
        and (not step or step in caution["steps"])
        and caution["key"] not in job["cautions"]
    ]


ROUTES: "list[Route]" = []
