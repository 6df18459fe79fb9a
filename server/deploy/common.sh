# shellcheck shell=sh
# Read by install, update and rollback: where things are, and what all three do.
# The environment can name other places; the tests do.
set -eu
umask 022 # the shop's user has to be able to run what root installs
: "${LAYBY_HOME:=/opt/layby}" "${LAYBY_ENV:=/etc/layby/layby.env}" "${LAYBY_PYTHON:=python3}"
: "${LAYBY_CTL:=systemctl}" # starts and stops the service
: "${LAYBY_WAIT:=30}"       # seconds until a server that was started has to be well
# shellcheck disable=SC2034 # those who read this use them
current="$LAYBY_HOME/current" previous="$LAYBY_HOME/previous" before="$LAYBY_HOME/backup-before-update"

say() { echo "layby: $*"; }
fail() { echo "layby: $*" >&2; exit 1; }

read_settings() {
  [ -r "$LAYBY_ENV" ] || fail "$LAYBY_ENV cannot be read. Run this as root; if it does not exist, run install."
  set -a
  # shellcheck disable=SC1090
  . "$LAYBY_ENV"
  set +a
  : "${LAYBY_DATA:?is missing in $LAYBY_ENV}" "${LAYBY_BACKUP:?is missing in $LAYBY_ENV}"
}

# Runs a command as the user whose files the shop's are.
as_shop() {
  if [ -n "${LAYBY_USER:-}" ] && [ "$(id -un)" != "$LAYBY_USER" ]; then runuser -u "$LAYBY_USER" -- "$@"; else "$@"; fi
}

# Lets a link name another release; there is no moment without one.
point() {
  ln -sfn "$2" "$1.new"
  mv -T "$1.new" "$1"
}

is_well() {
  "$LAYBY_PYTHON" - "http://127.0.0.1:${LAYBY_PORT:-8700}/health" "$LAYBY_WAIT" <<'PYTHON'
import sys, time, urllib.request
until = time.monotonic() + float(sys.argv[2])
while True:
    try:
        sys.exit(urllib.request.urlopen(sys.argv[1], timeout=2).status != 200)
    except OSError as error:
        if time.monotonic() > until:
            sys.exit(f"  {sys.argv[1]}: {error}")
        time.sleep(0.2)
PYTHON
}
