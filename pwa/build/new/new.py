"""`layby new WHAT KEY`, given a checkout."""

from pathlib import Path

from pwa.build.new import files, knowledge

ROOT = Path(__file__).parents[3]
MAKERS = {"cause": knowledge.cause, "measure": knowledge.measure, "joint": knowledge.joint}


def new(what: str, key: str, root: Path = ROOT) -> list[str]:
    """Write the files of a new cause, measure or joint, and return what to tell its writer.

    Raises:
        ValueError: the key is none, or taken.
    """
    files.module_of(key)
    made = MAKERS[what](key, root)
    files.write(made, root)
    told = [f"Written: {name}" for name in made.files] + [f"Changed: {name}" for name in made.changed]
    return told + [f"{at}. {step}" for at, step in enumerate(made.then, 1)]
