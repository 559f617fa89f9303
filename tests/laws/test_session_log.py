"""The log of a session: whatever is done, every frame stays with the setup it was taken with."""

import json
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapemark.errors import FileError, NotKept, SetupError, TapemarkError
from tapemark.services import demo_setup_text
from tapemark.services.editing.words import changed_things
from tapemark.services.library.keeping import export_fitting, import_bytes, keep
from tapemark.services.photos import session_log as logs
from tapemark.services.photos.frame_reading import Fingerprint
from tapemark.services.photos.session_back import back_to, decide
from tapemark.services.photos.session_meter import add_meter
from tapemark.store import Library
from tapemark.store.library_bundle import read_bundle
from tapemark.store.library_bundle_logs import LARGEST_PICTURE
from tapemark.studio import setup_from_mapping, setup_from_toml, setup_to_mapping

BODY = setup_to_mapping(setup_from_toml(demo_setup_text("quillmere-troubled")))
JPEG = b"\xff\xd8\xff\xd9"
EDITS = {
    "key up": lambda body: _light(body, 0, place={**body["light"][0]["place"], "height": "1.9 m"}),
    "key down": lambda body: _light(
        body, 0, place={**body["light"][0]["place"], "height": "1.5 m"}
    ),
    "fill power": lambda body: _light(body, 1, power="1/2"),
    "fill off": lambda body: _light(body, 1, on=False),
    "title": lambda body: {**body, "title": "another title"},
    "chin": lambda body: {**body, "sitter": {**body["sitter"], "chin": "5 deg down"}},
}
STEPS = st.lists(
    st.one_of(
        st.just("frame"),
        st.sampled_from(sorted(EDITS)),
        st.sampled_from(["undo", "redo", "erase", "note", "sitter", "teach", "session undo"]),
        st.tuples(st.just("back"), st.integers(0, 5)),
    ),
    max_size=14,
)


def _light(body, index, **values):
    lights = [dict(one) for one in body["light"]]
    lights[index] |= values
    return {**body, "light": lights}


def changed_body(*edits):
    body = BODY
    for one in edits:
        body = EDITS[one](body)
    return body


def mark(number):
    return Fingerprint(size=100 + number, digest=f"{number:040x}")


def add(library, session, number=0, **more):
    given = {"name": f"IMG_{number:04d}.jpg", "folder": "", "mark": mark(number), "where": "sent"}
    return logs.add_frame(library, session, **{**given, **more})


@pytest.fixture
def library(tmp_path):
    """A new library, closed at the end."""
    with Library.open(tmp_path / "library.sqlite") as opened:
        yield opened


@pytest.fixture
def setup(library):
    return keep(library, "setup", name="Reading room", body=BODY)


@pytest.fixture
def session(library, setup):
    return logs.begin_session(library, setup_id=setup.id).id


def edit(library, setup, *edits):
    now = library.get(setup.id)
    body = now.body
    for one in edits:
        body = EDITS[one](body)
    return library.save(setup.id, body, base_revision=now.revision)


# ---------------------------------------------------------------- nothing is lost


@settings(max_examples=15, deadline=None)
@given(steps=STEPS)
def test_whatever_is_done_every_frame_keeps_its_setup_and_its_place(steps):
    with TemporaryDirectory() as folder, Library.open(Path(folder) / "l.sqlite") as library:
        setup = keep(library, "setup", name="Reading room", body=BODY)
        session = logs.begin_session(library, setup_id=setup.id).id
        log, taken = library.log(session), {}
        for step in steps:
            _do(library, session, step, taken)
            found = [one.number for one in reversed(log.entries(("frame",)))]
            assert found == list(taken)
        for number, body in taken.items():
            frame = log.get(number)
            known = logs.setup_of(log, frame)
            assert (None if known is None else known.body["body"]) == body
        before = {one["id"]: one for one in json.loads(library.export_text())["things"]}
    assert len(before.get(session, {}).get("log", [])) >= len(taken)


def _do(library, session, step, taken):
    """One step; `taken` gets each frame with the setup it was taken with."""
    log = library.log(session)
    setup_id = logs.standing(log).setup_id
    now = None
    with suppress(NotKept):
        now = library.get(setup_id)
    if step == "frame":
        frame = add(library, session, len(taken)).entry.number
        taken[frame] = None if now is None else now.body
    elif isinstance(step, tuple):
        if taken:
            number = list(taken)[step[1] % len(taken)]
            if taken[number] is None:
                with pytest.raises(TapemarkError, match="without a setup"):
                    back_to(library, session, number)
            else:
                assert back_to(library, session, number).body == taken[number]
    elif step == "note":
        logs.add_note(library, session, "a note")
    elif step == "sitter":
        logs.next_sitter(library, session, "Oriel")
    elif step == "teach" and taken:
        logs.teach(log, next(iter(taken)), {"bare": True})
    elif step == "session undo":
        library.undo(session, library.get(session).revision)
    elif now is None:
        return
    elif step in EDITS:
        library.save(setup_id, EDITS[step](now.body), base_revision=now.revision)
    elif step == "erase":
        library.bin(setup_id)
        library.erase(setup_id)
    elif step in ("undo", "redo"):
        getattr(library, step)(setup_id, now.revision)


def test_going_back_is_a_new_version_and_the_later_one_stays(library, setup, session):
    first = add(library, session, 1).entry
    edit(library, setup, "key up")
    second = add(library, session, 2).entry
    kept = back_to(library, session, first.number)
    assert (kept.id, kept.version, kept.body) == (setup.id, 3, BODY)
    assert library.version_body(setup.id, 2) == changed_body("key up")
    assert back_to(library, session, second.number).body == changed_body("key up")
    assert [one.why for one in library.versions(setup.id)][2] == "as for frame IMG_0001.jpg"


def test_a_setup_that_was_erased_comes_back_from_the_log(library, setup, session):
    frame = add(library, session, 1).entry
    library.bin(setup.id)
    assert back_to(library, session, frame.number).binned is False
    library.bin(setup.id)
    library.erase(setup.id)
    kept = back_to(library, session, frame.number)
    assert (kept.id != setup.id, kept.body) == (True, BODY)
    assert logs.standing(library.log(session)).setup_id == kept.id


def test_the_same_photo_is_one_frame_however_often_it_comes(library, session):
    first = add(library, session, 7)
    again = add(library, session, 7, name="renamed.jpg", folder="elsewhere", where="folder")
    assert (first.new, again.new, again.entry) == (True, False, first.entry)
    other = logs.begin_session(library).id
    assert add(library, other, 7).new  # in another session it is another frame


# ---------------------------------------------------------------- what was changed


@pytest.mark.parametrize(
    ("edits", "things"),
    [
        ([], ()),
        (["title"], ()),
        (["key up"], ("key",)),
        (["key up", "title"], ("key",)),
        (["key up", "fill power"], ("key", "fill")),
        (["fill power", "fill off", "chin"], ("fill", "Ines, reader services")),
    ],
    ids=lambda one: ", ".join(one) or "nothing",
)
def test_the_things_that_were_changed_are_named_once_each(edits, things):
    before, after = (setup_from_mapping(one) for one in (BODY, changed_body(*edits)))
    assert changed_things(before, after) == things


def test_a_meter_reading_or_a_new_name_is_no_change_of_the_set():
    meter = {"aperture": "f/8", "distance": "1.5 m"}
    renamed = _light(_light(BODY, 0, name="main"), 1, meter=meter)
    assert changed_things(setup_from_mapping(BODY), setup_from_mapping(renamed)) == ()
    without = {**BODY, "light": BODY["light"][:1]}
    assert changed_things(setup_from_mapping(BODY), setup_from_mapping(without)) == ("light fill",)


def test_a_frame_says_what_was_changed_before_it_and_warns_of_more_than_one_thing(
    library, setup, session
):
    assert add(library, session, 1).entry.body["changed"] is None
    first = library.log(session).last("frame").number
    edit(library, setup, "key up")
    one = add(library, session, 2).entry.body["changed"]
    assert (one["since"], one["things"], one["warning"]) == (first, ["key"], "")
    assert one["words"].startswith("key: ")
    edit(library, setup, "key down", "fill power")
    two = add(library, session, 3).entry.body["changed"]
    assert two["warning"].startswith("two things changed: key: ")
    assert "fill: power now 1/2" in two["warning"]
    none = add(library, session, 4).entry.body["changed"]
    assert (none["words"], none["things"]) == ("", [])


# ---------------------------------------------------------------- what a person says


def test_what_is_said_of_a_frame_holds_for_the_next_frames_of_that_sitter_only(library, session):
    log = library.log(session)
    pupils = [[262.0, 339.0], [384.0, 339.0]]
    shape = {"gap_mm": 18.0, "width_mm": 50.0, "height_mm": 34.0, "exponent": 3.0}
    first = add(library, session, 1).entry
    logs.keep_reading(log, first.number, {"reading": None}, {})
    assert log.without("frame", "reading", again="taught", most=9) == ()
    logs.teach(log, first.number, {"pupils": pupils})
    assert log.without("frame", "reading", again="taught", most=9) == (first,)
    assert logs.hints_for(log, first) == {"pupils": pupils}
    logs.keep_reading(log, first.number, {"reading": None, "shapes": {"1": shape}}, {})
    second = add(library, session, 2).entry
    assert logs.hints_for(log, second) == {"known_pupils": pupils, "shape": shape}
    logs.next_sitter(library, session, "Oriel")
    third = add(library, session, 3).entry
    assert logs.hints_for(log, third) == {}
    logs.teach(log, third.number, {"bare": True})
    fourth = add(library, session, 4).entry
    assert logs.hints_for(log, fourth) == {"bare": True}


def test_a_reading_of_the_meter_counts_in_the_setup_and_for_the_own_head(library, setup, session):
    head = {"what": "head", "name": "Old faithful", "head": {"preset": "400 Ws studio head"}}
    gear = keep(library, "gear", name="Old faithful", body=head)
    words = add_meter(library, session, light="key", reading="8", gear_id=gear.id)
    assert "Your reading says" in words
    body = library.get(setup.id).body
    assert body["light"][0]["meter"]["aperture"] == "f/8"
    assert "meter" not in body["light"][1]
    assert library.get(gear.id).body["meter"]["aperture"] == "f/8"
    frame = add(library, session, 1).entry
    assert frame.body["changed"] is None
    entry = library.log(session).last("meter")
    assert (entry.body["light"], entry.body["aperture"]) == ("key", "f/8")
    assert "noted" in add_meter(library, session, light="", reading="f/11")
    assert library.get(setup.id).version == 2


@pytest.mark.parametrize(
    ("light", "reading", "said"),
    [
        ("key", "nine", "nine"),
        ("", "nine", "nine"),
        ("kay", "f/8", "lights are: key, fill"),
        ("key", " ", "f/8"),
    ],
)
def test_a_reading_that_is_none_is_refused_and_nothing_is_kept(
    library, setup, session, light, reading, said
):
    with pytest.raises((TapemarkError, SetupError), match=said):
        add_meter(library, session, light=light, reading=reading)
    assert library.get(setup.id).version == 1
    assert library.log(session).last("meter") is None


def test_a_corrected_setup_is_taken_beside_what_was_changed_since_or_left(library, setup, session):
    log, frame = library.log(session), add(library, session, 1).entry.number
    with pytest.raises(TapemarkError, match="contradicts nothing"):
        decide(library, session, frame, take=True)
    logs.keep_match(log, frame, {"wearers": [], "corrected": changed_body("key down")})
    edit(library, setup, "fill power")
    assert decide(library, session, frame, take=False) is None
    assert library.get(setup.id).version == 2
    kept = decide(library, session, frame, take=True)
    assert kept.body == changed_body("key down", "fill power")
    assert [one.body["take"] for one in log.entries(("decided",))] == [True, False]


# ---------------------------------------------------------------- taken along


def filled(library, session):
    log = library.log(session)
    for number in (1, 2):
        frame = add(library, session, number, folder="here", where="folder").entry.number
        logs.keep_reading(log, frame, {"reading": None, "n": number}, {"preview": JPEG})
    logs.add_note(library, session, "Zoë blinks", frame=frame)
    log.add("watch", {"on": True, "folder": "here", "before": []})
    return [(one.number, one.kind, one.about, one.body) for one in log.entries()]


def test_a_session_is_taken_along_with_its_log_and_its_pictures(library, setup, session, tmp_path):
    known = filled(library, session)
    text = library.export_text().encode()
    with Library.open(tmp_path / "other.sqlite") as other:
        assert import_bytes(other, text).count("new") == 2
        log = other.log(session)
        came = [(one.number, one.kind, one.about, one.body) for one in log.entries()]
        assert came[1:] == known
        assert log.picture(came[2][2], "preview") == JPEG
        assert came[0][1] == "imported"
        assert logs.standing(log).watched == ""  # a folder named elsewhere is not looked into
        assert import_bytes(other, text).count("already here") == 2
        logs.add_note(library, session, "more")
        assert import_bytes(other, library.export_text().encode()).count("copy") == 1
    small = json.loads(library.export_text(pictures=False))["things"]
    assert [one["pictures"] for one in small[1]["log"]] == [{}] * (len(known) + 1)


def test_pictures_are_left_out_of_an_export_where_they_do_not_fit(library, session, monkeypatch):
    filled(library, session)
    whole, with_pictures = export_fitting(library)
    assert (with_pictures, whole.count("preview")) == (True, 2)
    for module in ("library", "library_bundle"):
        monkeypatch.setattr(f"tapemark.store.{module}.LARGEST_BUNDLE", len(whole) - 10)
    text, with_pictures = export_fitting(library)
    assert (with_pictures, text.count("preview")) == (False, 0)
    assert len(read_bundle(text.encode(), name="a file")) == 2


def test_a_file_without_logs_is_one_that_an_older_tapemark_reads(library, setup):
    assert json.loads(library.export_text())["tapemark_library"] == 1


def test_a_copy_of_a_session_has_its_log_and_an_erased_one_leaves_nothing(library, session):
    known = filled(library, session)
    copy = library.duplicate(session).id
    log = library.log(copy)
    assert [(one.number, one.kind, one.about, one.body) for one in log.entries()] == known
    library.bin(session)
    library.erase(session)
    with pytest.raises(NotKept):
        library.log(session)
    assert len(log.entries()) == len(known)


WRONG = st.none() | st.booleans() | st.integers(-2, 5) | st.text(max_size=4) | st.lists(st.none())


@pytest.fixture(scope="module")
def exported(tmp_path_factory):
    """A session with its log as a file has it, without the digest of the whole."""
    path = tmp_path_factory.mktemp("exported") / "library.sqlite"
    with Library.open(path) as library:
        session = logs.begin_session(library).id
        filled(library, session)
        bundle = json.loads(library.export_text([session]))
    del bundle["digest"]
    return bundle


@settings(max_examples=150)
@given(data=st.data())
def test_a_log_that_is_none_is_refused_and_one_that_is_read_is_in_order(exported, data):
    bundle = json.loads(json.dumps(exported))
    entry = data.draw(st.sampled_from(bundle["things"][0]["log"]))
    entry[data.draw(st.sampled_from(sorted(entry)))] = data.draw(WRONG)
    read = ()
    with suppress(FileError):
        read = read_bundle(json.dumps(bundle).encode(), name="a file")
    for thing in read:
        numbers = [one.number for one in thing.log]
        assert numbers == sorted(set(numbers))
        assert all(one.about is None or one.about in numbers for one in thing.log)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"number": 0}, "not numbered upwards"),
        ({"about": 7}, "about one that is not there"),
        ({"kind": "<b>"}, "is of no kind"),
        ({"body": []}, "a table of keys"),
        ({"pictures": {"preview": "/9j/"}}, None),
        ({"pictures": {"preview": "////"}}, "a picture that is none"),
        ({"pictures": {"../x": "/9j/"}}, "a picture that is none"),
    ],
)
def test_an_entry_that_is_none_is_told_in_one_line(exported, library, change, said):
    bundle = json.loads(json.dumps(exported))
    bundle["things"][0]["log"][1] |= change
    if said is None:
        assert library.import_bytes(json.dumps(bundle).encode()).count("new") == 1
        return
    with pytest.raises(FileError, match=said):
        library.import_bytes(json.dumps(bundle).encode())
    assert library.kept() == ()


def test_a_picture_that_is_too_large_is_not_kept(library, session):
    frame = add(library, session, 1).entry.number
    with pytest.raises(ValueError, match="200000 bytes"):
        logs.keep_reading(
            library.log(session), frame, {}, {"preview": JPEG + bytes(LARGEST_PICTURE)}
        )
    assert library.log(session).last("reading") is None


def test_what_the_disk_has_changed_never_passes_as_what_was_kept(library, session, tmp_path):
    filled(library, session)
    log = library.log(session)
    with library._connections.writing() as db:
        db.execute("UPDATE pictures SET content = ?", (JPEG + b"x",))
        db.execute("UPDATE entries SET body = replace(body, 'blinks', 'winks') WHERE kind = 'note'")
    frame = log.entries(("frame",))[-1].number
    with pytest.raises(FileError, match="was damaged on the disk"):
        log.picture(frame, "preview")
    with pytest.raises(FileError, match="was damaged on the disk"):
        log.entries()
