"""Windows come and go, and nothing of them stays: no worker, no subscription, no task.

Numbers, not megabytes: memory is on the page of measurements, these bounds are exact.
"""

import asyncio
import gc
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from tests.asgi import PORT, Driven

from tapemark.services import demo_setup_text
from tapemark.studio import setup_from_toml, setup_to_mapping
from tapemark.web import Settings, create_app
from tapemark.web.talk import Talk

BODY = setup_to_mapping(setup_from_toml(demo_setup_text("quillmere-troubled")))
MANY = 50
LIVE, LONG = 1, 1


@pytest.fixture
def driven(tmp_path: Path) -> Iterator[Driven]:
    settings = Settings(
        port=PORT, library=tmp_path / "l.sqlite", ready=False, live_workers=LIVE, long_workers=LONG
    )
    with Driven(create_app(settings)) as found:
        yield found


def add_set(driven: Driven) -> str:
    library = driven.app.state.desk.library
    return driven.run(library.do(lambda shelf: shelf.add("setup", name="Desk", body=BODY))).id


def tasks_of(driven: Driven) -> int:
    async def count() -> int:
        return len(asyncio.all_tasks())

    return driven.run(count())


def talks() -> int:
    gc.collect()
    return sum(isinstance(one, Talk) for one in gc.get_objects())


def comes_to(wanted: Any, found: Any, within_s: float = 20.0) -> bool:
    """Whether something is so, now or soon: the last window's tasks end after it has gone."""
    end = time.monotonic() + within_s
    while time.monotonic() < end:
        if found() == wanted:
            return True
        time.sleep(0.05)
    return bool(found() == wanted)


def test_fifty_windows_that_open_and_close_leave_nothing_behind(driven):
    set_id, desk = add_set(driven), driven.app.state.desk
    tasks, before = tasks_of(driven), talks()
    with ExitStack() as stack:  # all at once, as from a page that is opened again and again
        for number in range(MANY):
            window = stack.enter_context(driven.socket(f"/live/{set_id}"))
            if number % 10 == 0:
                window.say({"do": "hello", "window": f"w{number}"})
                assert window.hear("state")["revision"] == 1
        assert comes_to(MANY, lambda: len(desk.windows))
        assert len(desk.windows.showing(set_id)) == MANY
        assert len(desk.workers.pids) <= LIVE + LONG
    for number in range(MANY):  # one after the other, each in the midst of work
        with driven.socket(f"/live/{set_id}") as window:
            edit = {"move": "light.key", "x": 1.0 + 0.01 * number, "y": 1.5}
            window.say({"do": "try", "n": 1, "edits": [edit]})
            if number % 25 == 0:
                window.say({"do": "map", "n": 2, "light": "key"})
    assert comes_to(0, lambda: len(desk.windows))
    assert desk.windows.showing(set_id) == ()
    assert comes_to(0, lambda: desk.workers.under_way)
    assert len(desk.workers.pids) <= LIVE + LONG
    assert comes_to(tasks, lambda: tasks_of(driven))
    assert comes_to(before, talks)


def test_windows_of_the_work_socket_leave_nothing_behind_either(driven):
    desk, tasks, before = driven.app.state.desk, tasks_of(driven), talks()
    for number in range(MANY):
        with driven.socket("/work") as window:
            window.say({"do": "begin", "n": number, "work": "nothing of the kind"})
    assert comes_to(0, lambda: desk.workers.under_way)
    assert comes_to(tasks, lambda: tasks_of(driven))
    assert comes_to(before, talks)
