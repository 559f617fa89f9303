"""Starting tapemark loads little: `--help` comes at once, a picture's first look soon."""

import json
import os
import subprocess
import sys

import pytest

IMPORT = "import tapemark"
HELP = """
import contextlib, os, runpy, sys
sys.argv = ["tapemark", "--help"]
with open(os.devnull, "w") as nowhere, contextlib.redirect_stdout(nowhere):
    try:
        runpy.run_module("tapemark", run_name="__main__")
    except SystemExit as end:
        assert not end.code, end.code
"""
PICTURE = """
import contextlib, json, os, sys
from tapemark.cli import main
from tapemark.services import demo_setup_text
os.chdir(sys.argv[1])
with open("setup.toml", "w", encoding="utf-8") as file:
    file.write(demo_setup_text("quillmere-cured"))
sys.argv = ["tapemark", "picture", "setup.toml", "--size", "48x60"]
with open(os.devnull, "w") as nowhere, contextlib.redirect_stdout(nowhere):
    try:
        main()
    except SystemExit as end:
        assert not end.code, end.code
print(json.dumps([name for name in sys.modules if name.startswith("tapemark.")]))
"""
REPORT = """
import json, sys
print(json.dumps(sorted({name.partition(".")[0] for name in sys.modules})))
"""


def packages_loaded_by(code: str) -> set[str]:
    """Installed packages, tapemark aside, that a fresh interpreter has loaded after the code."""

    def run(what: str) -> set[str]:
        done = subprocess.run(
            [sys.executable, "-c", what], capture_output=True, check=False, text=True
        )
        assert done.returncode == 0, done.stderr
        return set(json.loads(done.stdout))

    return run(code + REPORT) - run(REPORT) - set(sys.stdlib_module_names) - {"tapemark"}


@pytest.mark.parametrize(
    ("code", "allowed"), [(IMPORT, set()), (HELP, {"click"})], ids=["import", "help"]
)
def test_a_fresh_interpreter_loads_only_the_listed_packages(code, allowed):
    assert packages_loaded_by(code) - allowed == set()


def test_a_picture_loads_nothing_that_plans_and_for_kept_people_nothing_that_builds_them(tmp_path):
    def loaded() -> set[str]:
        done = subprocess.run(
            [sys.executable, "-c", PICTURE, str(tmp_path)],
            env=os.environ | {"TAPEMARK_CACHE": str(tmp_path / "cache")},
            capture_output=True,
            check=False,
            text=True,
        )
        assert done.returncode == 0, done.stderr
        return {".".join(one.split(".")[1:3]) for one in json.loads(done.stdout)}

    builders = "rendering.mannequin"
    first, again = loaded(), loaded()
    assert builders in first
    assert builders not in again
    for unwanted in ("planning", "drawing", "photo", "web"):
        assert not [one for one in again if one.split(".")[0] == unwanted]
