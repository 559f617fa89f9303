"""One file to take own things along in: it replaces nothing here, and is never trusted."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapemark.errors import FileError, LibraryError
from tapemark.store import Library, library_rows

LEAVES = st.none() | st.booleans() | st.integers(-9, 9) | st.text(max_size=5)
WRONG = LEAVES | st.lists(LEAVES, max_size=2) | st.dictionaries(st.text(max_size=3), LEAVES)
ANYTHING = st.recursive(
    LEAVES, lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner), max_leaves=8
)


@pytest.fixture
def library(tmp_path):
    """A new library, closed at the end."""
    with Library.open(tmp_path / "library.sqlite") as opened:
        yield opened


def content(library):
    """All that a library holds, but for the moment of asking."""
    return json.loads(library.export_text())["things"]


def test_the_same_id_with_other_content_is_kept_beside_the_own_one(library, tmp_path):
    kept = library.add("room", name="den", body={"n": 1})
    before = library.export_text()
    with Library.open(tmp_path / "other.sqlite") as other:
        other.import_bytes(before.encode())
        other.save(kept.id, {"n": 2}, base_revision=1)
        changed = other.export_text().encode()
    library.save(kept.id, {"n": 3}, base_revision=1)
    (came,) = library.import_bytes(changed).things
    assert (came.outcome, came.name, came.versions) == ("copy", "den (imported)", 2)
    assert library.get(came.id).body == {"n": 2}
    assert library.get(kept.id).body == {"n": 3}
    assert library.import_bytes(changed).count("already here") == 1  # once is enough
    assert library.import_bytes(before.encode()).count("already here") == 1  # an older state


def test_an_export_of_the_latest_versions_leaves_the_older_ones_at_home(library, tmp_path):
    kept = library.add("room", name="den", body={"n": 1})
    library.save(kept.id, {"n": 2}, base_revision=1)
    path = library.export_file(tmp_path / "den.json", ids=[kept.id], all_versions=False)
    with Library.open(tmp_path / "other.sqlite") as other:
        other.import_file(path)
        assert [line.number for line in other.versions(kept.id)] == [1]
        assert other.get(kept.id).body == {"n": 2}


# ---------------------------------------------------------------- never trusted


def without_digest(library):
    """An export as data that anybody could have written."""
    data = json.loads(library.export_text())
    del data["digest"]
    return data


def two_things(library):
    """A library with a branch in it."""
    kept = library.add("room", name="den", body={"n": 1})
    library.save(kept.id, {"n": 2}, base_revision=1)
    library.undo(kept.id, 2)
    library.save(kept.id, {"n": 3, "in": [{"n": 4}]}, base_revision=3)
    library.add("gear", name="head", body={"n": 5})
    return kept.id


def refused(library, raw):
    """Import what must be refused; return the one line that says why."""
    before = content(library)
    with pytest.raises(FileError) as told:
        library.import_bytes(raw, name="friday.json")
    assert content(library) == before
    line = str(told.value)
    assert line.startswith("friday.json: ")
    assert "\n" not in line
    return line


def test_any_json_at_all_is_refused_in_one_line(library):
    @given(data=ANYTHING)
    def check(data):
        assert "exported from Own things" in refused(library, json.dumps(data).encode())

    check()


@given(cut=st.floats(0.0, 1.0, exclude_max=True), flip=st.integers(0, 7))
def check_damage(library, text, cut, flip):
    """Cut short, and with one bit of it turned over: both are noticed."""
    at = int(cut * len(text))
    if text[:at].strip() != text.strip():
        refused(library, text[:at])
    if text[at : at + 1].strip():
        turned = bytearray(text)
        turned[at] ^= 1 << flip
        assert noticed(library, bytes(turned))


def noticed(library, raw):
    """Import what may be refused; return whether it was, or nothing in it was another."""
    try:
        report = library.import_bytes(raw)
    except FileError:
        return True
    return report.count("already here") == len(report.things) == 2


def test_a_file_cut_short_or_with_a_bit_turned_over_is_noticed(library):
    two_things(library)
    check_damage(library, library.export_text().encode())
    assert len(content(library)) == 2


def places(node, path=()):
    """The path of every value within parsed JSON."""
    inside = node.items() if isinstance(node, dict) else enumerate(node)
    for key, value in inside:
        yield (*path, key)
        if isinstance(value, dict | list):
            yield from places(value, (*path, key))


def test_an_export_with_anything_replaced_is_refused_or_taken_in_whole(library):
    kept = two_things(library)
    paths = list(places(without_digest(library)["things"]))

    @given(path=st.sampled_from(paths), value=WRONG)
    @settings(max_examples=150)
    def check(path, value):
        data = without_digest(library)
        node = data["things"]
        for key in path[:-1]:
            node = node[key]
        node[path[-1]] = value
        before = content(library)
        try:
            report = library.import_bytes(json.dumps(data).encode())
        except FileError as told:
            reason = str(told)
        else:
            reason = ""
            new = [thing.id for thing in report.things if thing.outcome != "already here"]
            for thing in new:
                assert library.get(thing).can_undo is not None
                library.bin(thing)
                library.erase(thing)
        assert "\n" not in reason
        assert content(library) == before
        assert library.get(kept).body == {"n": 3, "in": [{"n": 4}]}

    check()


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        (b"", "is damaged or no JSON"),
        (b"\x89PNG\r\n\x1a\n", "is damaged or no JSON"),
        (b"\xff\xfe", "is damaged or no JSON"),
        (b"[" * 100_000, "nested too deeply"),
        (b"{}", "exported from Own things"),
        (b'{"tapemark_library": 3, "things": []}', "newer tapemark"),
        (b'{"tapemark_library": 1}', "no list"),
        (b'{"tapemark_library": NaN, "things": []}', "is damaged or no JSON"),
        (
            b'{"tapemark_library": 1, "things": [' + b"{}," * 60_000 + b"{}]}",
            "at most 50000 things",
        ),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_no_export_is_refused_and_says_why(library, raw, told):
    assert told in refused(library, raw)


def test_a_file_larger_than_may_be_is_refused_unread(library, monkeypatch):
    monkeypatch.setattr("tapemark.store.library_bundle.LARGEST_BUNDLE", 2_000_000)
    assert "is larger than 2 MB" in refused(library, b" " * 2_000_001)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda one: one.update(id="../../etc"), "no proper id"),
        (lambda one: one.update(kind="secret"), "no known kind"),
        (lambda one: one.update(name=7), "has no name"),
        (lambda one: one.update(version=9), "version that is not there"),
        (lambda one: one.update(versions=[]), "has no version"),
        (lambda one: one["versions"][0].update(parent=1), "comes from a version"),
        (lambda one: one["versions"][1].update(number=1), "not numbered upwards"),
        (lambda one: one["versions"][0].update(ahead=1), "leads to no later version"),
        (lambda one: one["versions"][0].update(ahead=99), "version that is not there"),
        (lambda one: one["versions"][2].update(body=["no"]), "a table of keys"),
        (lambda one: one["versions"][2].update(body={"x": "y" * 1_000_001}), "at most 1000000"),
        (lambda one: one["versions"][2].update(body={"x": "\ud800"}), "broken character"),
    ],
)
def test_a_thing_that_cannot_be_is_refused_and_says_why(library, change, told):
    two_things(library)
    data = without_digest(library)
    change(data["things"][0])
    assert told in refused(library, json.dumps(data).encode())


def test_two_things_of_one_id_are_refused(library):
    two_things(library)
    data = without_digest(library)
    data["things"][1]["id"] = data["things"][0]["id"]
    assert "two things of the same id" in refused(library, json.dumps(data).encode())


def test_an_export_too_large_to_be_imported_says_what_to_leave_out(library, monkeypatch):
    kept = library.add("session", name="day", body={"notes": "x" * 900})
    library.save(kept.id, {"notes": "y" * 900}, base_revision=1)
    for module in ("library", "library_bundle"):
        monkeypatch.setattr(f"tapemark.store.{module}.LARGEST_BUNDLE", 1500)
    with pytest.raises(LibraryError, match="or the older versions"):
        library.export_text()
    assert library.import_bytes(library.export_text(all_versions=False).encode()).things


def test_an_import_that_stops_half_way_brings_nothing(library, tmp_path, monkeypatch):
    two_things(library)
    raw = library.export_text().encode()
    insert, done = library_rows.insert, []

    def stops_at_the_second(db, thing):
        insert(db, thing)
        done.append(thing.id)
        if len(done) == 2:
            raise KeyboardInterrupt

    monkeypatch.setattr(library_rows, "insert", stops_at_the_second)
    with Library.open(tmp_path / "other.sqlite") as other:
        with pytest.raises(KeyboardInterrupt):
            other.import_bytes(raw)
        assert len(done) == 2
        assert content(other) == []
