"""`layby new WHAT KEY`, given a checkout."""

import os
import subprocess
import sys
from pathlib import Path

from pwa.build.new import files, kind, knowledge

ROOT = Path(__file__).parents[3]
MAKERS = {"cause": knowledge.cause, "measure": knowledge.measure, "joint": knowledge.joint, "kind": kind.kind}


def new(what: str, key: str, root: Path = ROOT) -> list[str]:
    """Write the files of something new, and return what to tell its writer.

    Raises:
        ValueError: the key is none, or taken.
    """
    files.module_of(key)
    made = MAKERS[what](key, root)
    files.write(made, root)
    if what == "kind":  # another Python, which has not imported the table as it was
        command = [sys.executable, "-m", "pwa.build.record_types"]
        subprocess.run(command, cwd=root, env=os.environ | {"PYTHONPATH": str(root)}, check=True)
    told = [f"Written: {name}" for name in made.files] + [f"Changed: {name}" for name in made.changed]
    return told + [f"{at}. {step}" for at, step in enumerate(made.then, 1)]
