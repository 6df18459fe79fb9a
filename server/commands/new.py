"""`layby new`: begin a new cause, measure, joint or record kind with the files to fill in."""

import argparse

WHATS = ("cause", "measure", "joint", "kind")
CHECKOUT = "`layby new` writes into Layby's source, so it needs a checkout of it"


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    command = subparsers.add_parser(
        "new",
        help="begin a new cause, measure, joint or record kind with the files to fill in (needs a checkout)",
        description="Write the files of something new, each place to fill in with a comment that says what to"
        " write, and say what to do next. The build refuses them, with file and line, until they are filled"
        " in. Nothing is overwritten. Needs a checkout.",
    )
    command.add_argument("what", choices=WHATS, help="what to begin")
    command.add_argument("key", help="its key: lower-case words joined by hyphens, as in fan-speed")
    command.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    try:
        from pwa.build.new.new import ROOT, new  # here: only a checkout has it
    except ModuleNotFoundError as error:
        raise ValueError(f"{CHECKOUT} with its extra “build” installed ({error.name} is missing).") from None
    if not (ROOT / "content").is_dir():
        raise ValueError(f"{CHECKOUT}.")
    print("\n".join(new(options.what, options.key)))
