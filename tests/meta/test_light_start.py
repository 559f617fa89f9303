"""Starting tapemark loads little: the command line answers `--help` at once."""

import json
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
