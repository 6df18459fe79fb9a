"""`/health` for whoever restarts a server that is stuck, `/metrics` for whoever watches one."""

import shutil
import sqlite3

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from server import observe
from server.store import shop

# OpenMetrics 1.0 (https://prometheus.io/docs/specs/om/open_metrics_spec/), from memory.
OPEN_METRICS = "application/openmetrics-text; version=1.0.0; charset=utf-8"
NO_STORE = {"Cache-Control": "no-store"}
COUNTS = {
    "layby_records": ("records stored", "select count(*) as n from records"),
    "layby_photos": ("photos stored", "select count(*) as n from photos"),
    "layby_photo_bytes": ("bytes of photos stored", "select coalesce(sum(size), 0) as n from photos"),
    "layby_photos_wanted": ("photos of records that are not here", "select count(*) as n from wanted"),
    "layby_uploads_open": ("photos that are coming in", "select count(*) as n from uploads"),
    "layby_phones": ("phones", "select count(*) as n from devices where token <> '' and revoked = 0"),
    "layby_refused_records": ("records refused, the last of each phone", "select count(*) as n from refused"),
}  # fmt: skip


async def health(request: Request) -> Response:
    """200 while records can be stored, 503 otherwise."""
    trouble = await run_in_threadpool(_trouble, shop.of(request))
    return JSONResponse({"status": trouble or "ok"}, 503 if trouble else 200, NO_STORE)


def _trouble(here: shop.Shop) -> str:
    try:
        with here.store.transaction() as db:  # takes the write lock, and writes nothing
            db.execute("select 1 from facts").fetchone()
        if here.store.failed:  # a quota says no although the disk has room
            here.store.try_to_write()
    except sqlite3.Error:
        return "database"
    return "disk" if free(here) < here.settings.spare_bytes else ""


def free(here: shop.Shop) -> int:
    return shutil.disk_usage(here.settings.data).free


async def metrics(request: Request) -> Response:
    seen: observe.Seen = request.app.state.seen
    text = await run_in_threadpool(_text, shop.of(request), seen)
    return Response(text, headers={**NO_STORE, "Content-Type": OPEN_METRICS})


def _text(here: shop.Shop, seen: observe.Seen) -> str:
    lines: list[str] = []
    for name, (about, sql) in COUNTS.items():
        lines += _family(name, "gauge", about, [(name, here.store.rows(sql)[0]["n"])])
    lines += _family("layby_disk_free_bytes", "gauge", "bytes free where the data is",
                     [("layby_disk_free_bytes", free(here))])  # fmt: skip
    lines += _family("layby_start_time_seconds", "gauge", "when the server started, since 1970",
                     [("layby_start_time_seconds", round(seen.started, 3))])  # fmt: skip
    lines += _family("layby_failures", "counter", "requests that failed by a defect",
                     [("layby_failures_total", seen.failures)])  # fmt: skip
    lines += _family("layby_requests", "counter", "requests answered", [
        (f'layby_requests_total{{route="{route}",method="{method}",status="{status}"}}', count)
        for (route, method, status), count in sorted(seen.requests.items())
    ])  # fmt: skip
    lines += _histogram(seen)
    return "\n".join([*lines, "# EOF", ""])


def _histogram(seen: observe.Seen) -> list[str]:
    samples: list[tuple[str, float]] = []
    total = 0
    for limit, count in zip((*map(str, observe.LIMITS), "+Inf"), list(seen.buckets), strict=True):
        total += count
        samples.append((f'layby_request_seconds_bucket{{le="{limit}"}}', total))
    samples += [("layby_request_seconds_sum", round(seen.seconds, 6)), ("layby_request_seconds_count", total)]
    return _family("layby_request_seconds", "histogram", "time to answer a request", samples)


def _family(name: str, kind: str, about: str, samples: list[tuple[str, float]]) -> list[str]:
    head = [f"# TYPE {name} {kind}", f"# HELP {name} {about}"]
    return head + [f"{sample} {value}" for sample, value in samples]
