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
