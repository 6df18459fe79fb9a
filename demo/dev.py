"""`layby dev`: the demo's shop, built and served anew after every change.

Nothing is imported here that a change may have broken. When Python changed, the process begins again and
keeps its listening socket, so that a page asked for meanwhile waits instead of failing. What cannot run is
shown, and tried again after the next change.
"""

import os
import socket
import sys
import traceback
from pathlib import Path

from pwa.build.watch import Watch

ROOT = Path(__file__).parent.parent
WATCHED = [ROOT / name for name in ("content", "pwa", "server", "demo")]
HANDED_ON = "LAYBY_DEV_SOCKET"  # the number of the socket of the process before


def main() -> None:
    listening = _socket()
    watch = Watch(*WATCHED)
    try:
        _run(listening, watch)
    except KeyboardInterrupt:
        say("stopped; the shop is kept in demo/data")
        return
    os.execve(sys.executable, [sys.executable, "-m", "demo.dev"], _environment(listening))


def _run(listening: socket.socket, watch: Watch) -> None:
    """Returns once Python changed."""
    # sqlite-utils imports it wherever it is installed, and waits longer for it than for all else together.
    sys.modules["pandas"] = None  # type: ignore[assignment]
    try:
        from demo import watched

        watched.serve(listening, watch)
    except Exception:
        traceback.print_exc()
        say("this cannot run; it is tried again after the next change")
        watch.wait()


def _socket() -> socket.socket:
    if HANDED_ON in os.environ:
        return socket.socket(fileno=int(os.environ[HANDED_ON]))
    address = os.environ.get("LAYBY_HOST", "127.0.0.1"), int(os.environ.get("LAYBY_PORT", "8700"))
    try:
        return socket.create_server(address)
    except OSError:
        sys.exit(f"layby: port {address[1]} is taken. Set LAYBY_PORT to another one and start again.")


def _environment(listening: socket.socket) -> dict[str, str]:
    os.set_inheritable(listening.fileno(), True)
    return {**os.environ, HANDED_ON: str(listening.fileno())}


def say(line: str) -> None:
    print(f"dev: {line}", flush=True)


if __name__ == "__main__":
    main()
