"""Security headers on every answer, unless the endpoint set its own."""

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pwa.app import contract

POLICY = "; ".join(
    (
        "default-src 'self'",
        "script-src 'self'",  # no inline script, no eval
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "connect-src 'self'",
        "worker-src 'self'",
        "object-src 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "form-action 'self'",
    )
)
# Python runs in workers only, so nothing else may compile WebAssembly.
WORKERS = (contract.WORKER, "/phone/recording.js")
WORKER_POLICY = POLICY.replace("script-src 'self'", "script-src 'self' 'wasm-unsafe-eval'")

HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    # Not "no-referrer": with it, browsers send "Origin: null" with our own forms.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), payment=(), usb=()",
}

# JSON is no page: it may do nothing at all, and a phone on a weak signal should not pay for more words.
DATA_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
}


class SecurityHeaders:
    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                if scope["path"] in WORKERS:
                    headers.setdefault("Content-Security-Policy", WORKER_POLICY)
                is_data = headers.get("Content-Type", "") == "application/json"
                is_empty = message["status"] == 204  # nothing that a browser could do anything with
                for name, value in ({} if is_empty else DATA_HEADERS if is_data else HEADERS).items():
                    headers.setdefault(name, value)
                if scope.get("scheme") == "https":
                    headers.setdefault("Strict-Transport-Security", "max-age=31536000")
            await send(message)

        await self._app(scope, receive, send_with_headers)
