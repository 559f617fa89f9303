"""How long does a command take, from pressing Enter to its last line?"""

import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from tapemark.services import demo_setup_text

FOUND_TROUBLE = 1  # exit status of a check that worked and has something to say


@dataclass(frozen=True, kw_only=True, slots=True)
class ProcessTime:
    command: str
    median_s: float
    budget_s: float | None


def measure_processes(*, runs: int) -> list[ProcessTime]:
    """Return the median times of whole commands, and of an idle interpreter beside them."""
    with tempfile.TemporaryDirectory() as folder:
        setup = Path(folder) / "setup.toml"
        setup.write_text(demo_setup_text("quillmere-troubled"), encoding="utf-8")
        python = [sys.executable, "-m", "tapemark"]
        wanted = [
            ("an interpreter that does nothing", [sys.executable, "-c", "pass"], None),
            (
                "an interpreter that loads numpy and nothing else",
                [sys.executable, "-c", "import numpy"],
                None,
            ),
            ("`tapemark --help`", [*python, "--help"], 0.3),
            ("`tapemark check SETUP`", [*python, "check", str(setup)], 1.0),
        ]
        for _, command, _ in wanted:  # once unmeasured: compiled modules, disk
            _run_s(command)
        times = [[_run_s(command) for _, command, _ in wanted] for _ in range(runs)]
    return [
        ProcessTime(command=name, median_s=statistics.median(each), budget_s=budget_s)
        for (name, _, budget_s), each in zip(wanted, zip(*times, strict=True), strict=True)
    ]


def _run_s(command: list[str]) -> float:
    start = time.perf_counter()
    done = subprocess.run(command, capture_output=True, check=False, text=True)
    taken = time.perf_counter() - start
    if done.returncode not in {0, FOUND_TROUBLE}:
        raise RuntimeError(f"{command} ended with {done.returncode}: {done.stderr}")
    return taken
