"""Write a library of today's tables as SQL text, to be kept when they are released.

    python scripts/pin_library_schema.py > tests/pinned/library_schemas/v2.sql

A dump of a released version is never written again: later versions must open it as it was.
"""

import sys
from contextlib import closing
from pathlib import Path
from sqlite3 import connect
from tempfile import TemporaryDirectory

from tapemark.services import DEMO_STEMS, demo_setup_text
from tapemark.services.library.keeping import keep, part_of_setup
from tapemark.store import Library
from tapemark.studio import setup_from_toml, setup_to_mapping


def fill(library: Library) -> None:
    """Keep one thing of each kind, a branched tree of versions, a thing in the bin."""
    setups = [setup_from_toml(demo_setup_text(stem)) for stem in DEMO_STEMS[:2]]
    before, after = (setup_to_mapping(one) for one in setups)
    kept = keep(library, "setup", name="Quillmere, first try", body=before)
    kept = library.save(kept.id, after, base_revision=kept.revision, why="after the moves")
    kept = library.undo(kept.id, kept.revision)
    lights = [{**after["light"][0], "power": "1/2"}, *before["light"][1:]]
    changed = {**before, "light": lights}
    kept = library.save(kept.id, changed, base_revision=kept.revision, why="key: half power")
    kept = library.restore(kept.id, 2, kept.revision)
    library.undo(kept.id, kept.revision)
    for kind in ("room", "sitter", "glasses"):
        keep(library, kind, name=f"{kind} of the reading room", body=part_of_setup(setups[0], kind))
    head = part_of_setup(setups[0], "gear", light="key")
    softbox = {"preset": "medium softbox 60x90 cm"}
    head["meter"] = {"aperture": "f/8", "distance": "1.5 m", "modifier": softbox}
    keep(library, "gear", name="Zoë's 400 Ws head", body=head)
    day = {"start": "9:00", "sitters": [{"name": "Ines", "height": "1.66 m"}]}
    keep(library, "session", name="portrait day", body=day)
    shoot = keep(library, "session", name="two test shots", body={"what": "shoot"})
    log = library.log(shoot.id)
    shot = {"setup_id": kept.id, "version": 1, "name": kept.name, "body": before}
    log.add("setup", shot, mark=f"setup {kept.id} 1")
    for name in ("IMG_0001.jpg", "IMG_0002.jpg"):
        frame = log.add("frame", {"name": name, "size": 4}, mark=name).entry
    jpeg = b"\xff\xd8\xff\xd9"
    log.add("reading", {"error": ""}, about=frame.number, pictures={"preview": jpeg, "eyes": jpeg})
    log.add("note", {"text": "Zoë blinks"}, about=frame.number)
    right = {"place": True, "light": True, "surface": False, "move": True}
    library.practice.keep(base="", seed=7, number=1, **right)
    library.bin(keep(library, "room", name="attic", body=part_of_setup(setups[0], "room")).id)


def main() -> None:
    """Write the dump to the standard output."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "library.sqlite"
        with Library.open(path) as library:
            fill(library)
        with closing(connect(path)) as db:
            for pragma in ("user_version", "application_id"):
                value = db.execute(f"PRAGMA {pragma}").fetchone()[0]
                sys.stdout.write(f"PRAGMA {pragma} = {value};\n")
            sys.stdout.writelines(f"{line}\n" for line in db.iterdump())


if __name__ == "__main__":
    main()
