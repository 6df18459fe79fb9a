"""`layby backup`: the whole shop in one file."""

import argparse
import json
from pathlib import Path

from server import settings


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "backup",
        help="write the whole shop to one file",
        description="Write records, photos, phones and passphrases (as hashes) to one zip file; the server"
        " may be running. Sign-ins and one-time codes are left out. Keep the file as safe as the shop.",
        epilog="Example: layby backup /mnt/disk/layby-monday.zip",
    )
    command.add_argument("file", type=Path, help="the file to write; it must not exist")
    command.add_argument("--json", action="store_true", help="print the manifest as JSON")
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    from server.store.backup import backup

    manifest = backup(settings.from_environment().data, options.file)
    if options.json:
        print(json.dumps(manifest))
    else:
        size = options.file.stat().st_size / 1e6
        print(f"{options.file}: {len(manifest['files']) - 1} photos and all records, {size:.1f} MB")
