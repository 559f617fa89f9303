"""Stories of `tapemark open`: what it prints, what answers, and how it ends."""

import os
import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tapemark.services import read_setup
from tapemark.services.library.keeping import keep
from tapemark.store import Library
from tapemark.studio import setup_to_mapping

WITHIN_S = 30.0
NO_PROXY = urllib.request.build_opener(urllib.request.ProxyHandler({}))


@contextmanager
def opened(tmp_path: Path, *arguments: object) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Run `tapemark open` on a free port without a browser, and give its first address."""
    library = tmp_path / "library.sqlite"
    command = [sys.executable, "-m", "tapemark", "open", "--no-browser", "--library", str(library)]
    command += ["--port", "0"] * ("--port" not in arguments)
    running = subprocess.Popen(
        [*command, *map(str, arguments)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env=os.environ | {"PYTHONUNBUFFERED": "1", "NO_COLOR": "1"},
    )  # fmt: skip
    assert running.stdout is not None
    try:
        line = running.stdout.readline()
        found = re.search(r"http://\S+", line)
        assert found, line + (running.stderr.read() if running.stderr else "")
        yield running, found[0]
    finally:
        if running.poll() is None:
            running.kill()
        running.communicate()


def ended(running: subprocess.Popen[str]) -> tuple[int, str, str]:
    """End it as Ctrl-C does; return status and what else it printed."""
    running.send_signal(signal.SIGINT)
    out, err = running.communicate(timeout=WITHIN_S)
    return running.returncode, out, err


def get(address: str, **headers: str) -> Any:
    request = urllib.request.Request(address, headers=headers)
    return NO_PROXY.open(request, timeout=WITHIN_S)


def test_it_says_where_it_is_answers_there_and_ends_with_ctrl_c(tmp_path, setups):
    with opened(tmp_path, setups["troubled"]) as (running, address):
        with get(address) as answer:
            assert answer.status == 200
            assert b"tapemark" in answer.read()
            assert answer.headers["content-security-policy"].startswith("default-src 'self'")
        with pytest.raises(urllib.error.HTTPError) as refused:
            get(address, Host="evil.example")
        assert refused.value.code == 421
        refused.value.close()
        status, out, err = ended(running)
    assert (status, err) == (0, "")
    assert out.splitlines()[-1] == "tapemark has ended."
    with pytest.raises(urllib.error.URLError):
        get(address)


def test_named_again_a_setup_is_kept_once_and_for_others_there_is_a_link(tmp_path, setups):
    with Library.open(tmp_path / "library.sqlite") as library:
        body = setup_to_mapping(read_setup(setups["troubled"]))
        there = keep(library, "setup", name="Quillmere Library, reading room: first try", body=body)
    with opened(tmp_path, setups["troubled"], "--lan") as (running, address):
        assert address.endswith(f"/set/{there.id}")
        get(f"{address.partition('/set/')[0]}/static/css/base.css").close()  # it has said all
        status, out, _err = ended(running)
    assert status == 0
    if "in no network" in out:
        pytest.skip("this machine is in no network")
    link = re.search(r"http://\S+[?]token=\S+", out)
    assert link
    assert f"/set/{there.id}?token=" in link[0]
    assert "127.0.0.1" not in link[0]
    assert out.count("\N{FULL BLOCK}") > 50
    assert "Whoever is in the same network" in out
    assert "10 minutes" in out


def kept_setups(tmp_path: Path) -> list[Any]:
    with Library.open(tmp_path / "library.sqlite") as library:
        return [library.get(one.id) for one in library.kept("setup")]


def chosen(address: str, do: str) -> str:
    """Press a button of the page that asks; return where that leads."""
    form = urllib.request.Request(
        address, data=f"do={do}".encode(), headers={"Origin": address.partition("/file/")[0]}
    )
    with NO_PROXY.open(form, timeout=WITHIN_S) as answer:
        return str(answer.url)


def test_a_file_opened_again_after_work_in_the_app_is_not_copied(tmp_path, setups):
    with opened(tmp_path, setups["troubled"]) as (running, first):
        ended(running)
    (kept,) = kept_setups(tmp_path)
    with Library.open(tmp_path / "library.sqlite") as library:
        library.save(kept.id, {**kept.body, "title": "Other"}, base_revision=kept.revision)
        library.rename(kept.id, "My own name")
    with opened(tmp_path, setups["troubled"]) as (running, again):
        ended(running)
    assert again.partition("/set/")[2] == first.partition("/set/")[2] == kept.id
    (now,) = kept_setups(tmp_path)
    assert (now.name, now.body["title"]) == ("My own name", "Other")


@pytest.mark.parametrize(("do", "many"), [("version", 1), ("copy", 2)])
def test_a_file_changed_outside_asks_what_to_do_with_its_text(tmp_path, setups, do, many):
    path = tmp_path / "own-file.toml"
    text = Path(setups["troubled"]).read_text("utf-8")
    path.write_text(text, "utf-8")
    with opened(tmp_path, path) as (running, _):
        ended(running)
    (before,) = kept_setups(tmp_path)
    path.write_text(text.replace('"1.40 m"', '"1.55 m"'), "utf-8")
    with opened(tmp_path, path) as (running, address):
        assert "/file/" in address
        with get(address) as answer:
            said = answer.read().decode()
        assert "own-file.toml" in said
        assert "15 cm up" in said  # what has changed
        there = chosen(address, do)
        assert there.endswith(f"/set/{before.id}") == (do != "copy")
        _, _, err = ended(running)
    assert "own-file.toml has changed" in err
    after = {one.id: one for one in kept_setups(tmp_path)}
    assert len(after) == many
    heights = {key: one.body["light"][0]["place"]["height"] for key, one in after.items()}
    was = before.body["light"][0]["place"]["height"]
    assert heights[before.id] == ("1.55 m" if do == "version" else was)
    assert after[before.id].can_undo == (do == "version")
    assert sorted(heights.values()) == (["1.55 m"] if do == "version" else [was, "1.55 m"])


def test_a_port_that_is_taken_gives_one_line(tmp_path, run):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        answer = run("open", "--no-browser", "--port", port, "--library", tmp_path / "l.sqlite")
    assert answer.code == 1
    assert answer.out == ""
    assert answer.err.count("\n") == 1
    assert str(port) in answer.err
    assert "--port" in answer.err


def test_a_setup_that_cannot_be_read_is_said_before_anything_starts(tmp_path, run):
    missing = tmp_path / "nothing.toml"
    answer = run("open", missing, "--no-browser", "--port", 0, "--library", tmp_path / "l.sqlite")
    assert answer.code == 2
    assert "nothing.toml" in answer.err
    assert not (tmp_path / "l.sqlite").exists()


def test_a_library_that_is_none_is_said_before_anything_starts(tmp_path, run):
    wrong = tmp_path / "holiday.sqlite"
    wrong.write_bytes(b"no library " * 1000)
    answer = run("open", "--no-browser", "--port", 0, "--library", wrong)
    assert answer.code == 2
    assert "holiday.sqlite" in answer.err
    assert wrong.read_bytes() == b"no library " * 1000


def test_help_shows_an_example_and_the_options(run):
    answer = run("open", "--help")
    assert answer.code == 0
    assert "Example: tapemark open" in answer.out
    for option in ("--lan", "--port", "--no-browser", "--library"):
        assert option in answer.out
