"""Measure tapemark on this machine and write docs/performance.md.

    make bench                                   all of it, some minutes
    .venv/bin/python -m benchmarks --quick       fewer runs; prints, and writes nothing

One core, one thread; decisions and the app may use two. What is compared is measured in the same
run, one after the other.
"""

import argparse
import os
import sys
from pathlib import Path

PAGE = Path(__file__).resolve().parents[1] / "docs" / "performance.md"
THREAD_SETTINGS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="fewer runs; the page stays")
    quick = parser.parse_args().quick
    keep_to_one_core()
    # As installed: pip compiles modules, and commands must not compile them anew each time.
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    # Only now, for numpy reads the thread settings when it is loaded.
    from benchmarks.against_tracer import measure_against_tracer
    from benchmarks.app_drag import measure_app
    from benchmarks.check_time import measure_check
    from benchmarks.deciding import all_cores, measure_deciding
    from benchmarks.page import as_page
    from benchmarks.picture_time import measure_picture
    from benchmarks.sift_speed import measure_sifting
    from benchmarks.whole_process import measure_processes

    with all_cores():
        app = measure_app(quick=quick)
        pictures = measure_picture(quick=quick)
        sifting = measure_sifting(frames=4, repeats=1 if quick else 4)
    page = as_page(
        app=app,
        processes=measure_processes(runs=3 if quick else 7),
        checks=measure_check(runs=30 if quick else 200, fresh_runs=3 if quick else 7),
        race=measure_against_tracer(quick=quick),
        deciding=measure_deciding(quick=quick),
        pictures=pictures,
        sifting=sifting,
    )
    print(page)
    if not quick:
        PAGE.write_text(page, encoding="utf-8")
        print(f"Written to {PAGE.relative_to(PAGE.parents[1])}", file=sys.stderr)
    return 0


def keep_to_one_core() -> None:
    for name in THREAD_SETTINGS:
        os.environ[name] = "1"
    if hasattr(os, "sched_setaffinity"):  # Linux; elsewhere the settings above must do
        os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})


if __name__ == "__main__":
    sys.exit(main())
