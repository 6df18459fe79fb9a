"""`layby backup`: the whole shop in one file, or what is new of it in a folder."""

import argparse
import json
from pathlib import Path

from server import settings

DAMAGED = 3  # all that is sound was saved, and something is not sound


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "backup",
        help="save the whole shop, in one file or in a folder of backups",
        description="Save records, photos, phones and passphrases (as hashes); the server may be running."
        " Sign-ins and one-time codes are left out. Into a folder (--into), only photos that it does not have"
        " yet are copied, and the database gets a file with the date in its name. Keep both as safe as the"
        f" shop. Ends with {DAMAGED} when something in the shop is damaged: it is named, and the rest saved.",
        epilog="Every night: layby backup --into /mnt/disk/layby. To carry away: layby backup shop.zip",
    )
    where = command.add_mutually_exclusive_group(required=True)
    where.add_argument("file", type=Path, nargs="?", help="the zip file to write; it must not exist")
    where.add_argument("--into", type=Path, metavar="FOLDER", help="the folder of backups to add to")
    command.add_argument("--keep", type=int, default=30, help="databases to keep in the folder (default 30)")
    command.add_argument("--json", action="store_true", help="print JSON")
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    data = settings.from_environment().data
    return _into(data, options) if options.into else _one_file(data, options)


def _one_file(data: Path, options: argparse.Namespace) -> int:
    from server.backup.archive import backup

    manifest = backup(data, options.file)
    if options.json:
        print(json.dumps(manifest))
    else:
        for problem in manifest["problems"]:
            print(problem)
        size = options.file.stat().st_size / 1e6
        count = sum(name.startswith("photos/") for name in manifest["files"])
        print(f"{options.file}: {count} photos and all records, {size:.1f} MB")
        _say_damaged(len(manifest["problems"]))
    return DAMAGED if manifest["problems"] else 0


def _into(data: Path, options: argparse.Namespace) -> int:
    from server.backup.folder import backup

    if options.keep < 1:
        raise ValueError(f"--keep is {options.keep}; keep at least 1 database.")
    done = backup(data, options.into, options.keep)
    if options.json:
        print(json.dumps({**done._asdict(), "database": str(done.database)}))
    else:
        for problem in done.problems:
            print(problem)
        wrote = f"{done.bytes / 1e6:.1f} MB written"
        print(f"{done.database}: {done.photos} photos, {done.new} of them new, {wrote}")
        _say_damaged(len(done.problems))
    return DAMAGED if done.problems else 0


def _say_damaged(problems: int) -> None:
    if problems:
        print(f"{problems} problems in the shop; all that is sound was saved. See `layby check --repair`.")
