"""Processes that read photos end with the one that started them, however that ended."""

import os
import signal
import subprocess
import sys
import time

import pytest

START = """
import multiprocessing, os, sys, time
from concurrent.futures import ProcessPoolExecutor
from tapemark.photo.batch_worker import prepare_process

if __name__ == "__main__":
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(1, mp_context=spawn, initializer=prepare_process) as pool:
        print(pool.submit(os.getpid).result(), flush=True)
        pool.submit(time.sleep, 120).result()
"""
LOADING = """
import os, signal, sys, threading, time
from tapemark.photo.batch_worker import Job
from tapemark.planning import Watch
from tapemark.services.photos.photo_batch import read_many

if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.default_int_handler)  # whoever started this may ignore it

    def press() -> None:
        time.sleep(float(sys.argv[1]))
        print("pressed", flush=True)
        os.killpg(0, signal.SIGINT)

    threading.Thread(target=press).start()
    try:
        list(read_many((Job(path="none.jpg") for _ in range(10**9)), workers=3, watch=Watch()))
    except KeyboardInterrupt:
        print("stopped", flush=True)
"""
WITHIN_S = 20.0


def alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


@pytest.mark.skipif(os.name != "posix", reason="processes are killed as POSIX has it")
def test_a_process_that_reads_photos_ends_when_its_parent_is_killed(tmp_path):
    script = tmp_path / "start.py"
    script.write_text(START)
    with subprocess.Popen([sys.executable, str(script)], stdout=subprocess.PIPE) as parent:
        assert parent.stdout is not None
        child = int(parent.stdout.readline())
        assert alive(child)
        parent.send_signal(signal.SIGKILL)
        parent.wait()
    until = time.monotonic() + WITHIN_S
    while alive(child) and time.monotonic() < until:
        time.sleep(0.05)
    assert not alive(child)


@pytest.mark.skipif(os.name != "posix", reason="Ctrl-C goes to a group of processes there")
@pytest.mark.parametrize("after_s", ["0.02", "0.15", "0.4", "2"])
def test_ctrl_c_while_processes_start_says_nothing_and_ends_them(tmp_path, after_s):
    script = tmp_path / "start.py"
    script.write_text(LOADING)
    done = subprocess.run(
        [sys.executable, str(script), after_s],
        capture_output=True,
        text=True,
        start_new_session=True,
        timeout=60,
        check=False,
    )
    assert done.stderr == ""
    assert done.stdout.split() == ["pressed", "stopped"]
