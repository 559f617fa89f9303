"""Own things in use: read before they are kept, put into a set, taken out, merged, calibrated."""

import pytest

from tapemark.errors import EditedElsewhere, NotKept, SetupError
from tapemark.services import DEMO_STEMS, demo_setup_text
from tapemark.services.library.calibrating import calibrated, calibration_of
from tapemark.services.library.keeping import (
    checked_body,
    import_bytes,
    insert_part,
    keep,
    keep_both,
    merge,
    open_setup,
    part_of_setup,
    save,
)
from tapemark.store import Library
from tapemark.studio import changed, setup_from_toml, setup_to_mapping

SETUP = setup_from_toml(demo_setup_text(DEMO_STEMS[0]))
SOFTBOX = "medium softbox 60x90 cm"
HEAD = {"what": "head", "head": "200 Ws studio head"}
READING = {"aperture": "f/8", "distance": "1.5 m", "modifier": SOFTBOX}


@pytest.fixture
def library(tmp_path):
    """A new library, closed at the end."""
    with Library.open(tmp_path / "library.sqlite") as opened:
        yield opened


def body(**changes):
    """The demo's setup as it is kept, with some of its tables changed."""
    return {**setup_to_mapping(SETUP), **changes}


def key(setup_body, **changes):
    """A kept setup with its key light changed."""
    first, *others = setup_body["light"]
    return {**setup_body, "light": [{**first, **changes}, *others]}


def camera(**changes):
    """The demo's camera with something changed."""
    return {**setup_to_mapping(SETUP)["camera"], **changes}


# ---------------------------------------------------------------- read before it is kept


@pytest.mark.parametrize(
    ("kind", "wrong", "told"),
    [
        ("setup", {"room": {}}, "add width"),
        ("room", {"width": "5.4"}, "has no unit"),
        ("room", {"width": "5 m", "length": "6 m", "height": "2.5 m", "units": "ells"}, "units"),
        ("sitter", {"glases": {}}, "did you mean"),
        ("glasses", {"preset": "rose-coloured"}, "thin reading glasses"),
        ("gear", {"what": "head"}, "head"),
        ("gear", {"what": "tripod"}, '"head", "modifier", "stand", "panel", "backdrop"'),
        ("gear", {**HEAD, "meter": {"aperture": "f/8", "distance": "1.5 m"}}, "meter.modifier"),
    ],
)
def test_what_cannot_be_read_is_refused_and_not_kept(library, kind, wrong, told):
    with pytest.raises(SetupError) as refusal:
        keep(library, kind, name="friday", body=wrong)
    assert str(refusal.value).startswith("friday: ")
    assert told in str(refusal.value)
    assert library.kept() == ()


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("kind", ["room", "sitter", "glasses", "gear"])
def test_what_is_kept_reads_back_as_it_is(kind, units):
    setup = changed(SETUP, {"units": units})
    light = "key" if kind == "gear" else None
    taken = part_of_setup(setup, kind, light=light)
    assert checked_body(kind, taken) == taken
    if kind != "gear":
        assert insert_part(setup, kind, taken) == setup


def test_saving_what_cannot_be_read_leaves_the_last_version(library):
    kept = keep(library, "setup", name="day", body=body())
    with pytest.raises(SetupError, match="head"):
        save(library, kept.id, key(body(), head="no such head"), base_revision=1)
    assert library.get(kept.id) == kept
    assert open_setup(library, kept.id) == SETUP


# ---------------------------------------------------------------- two windows


def test_two_windows_that_change_different_things_both_keep_their_change(library):
    kept = keep(library, "setup", name="day", body=body())
    theirs = key(body(), power="1/4")
    save(library, kept.id, theirs, base_revision=1)
    mine = body(camera=camera(iso=200))
    with pytest.raises(EditedElsewhere):
        save(library, kept.id, mine, base_revision=1)
    merged = merge(library, kept.id, mine, base_revision=1)
    assert merged.clashes == ()
    assert merged.kept.body == key(mine, power="1/4") == library.get(kept.id).body
    back = library.undo(kept.id, merged.kept.revision)
    assert back.body == theirs


def test_two_windows_that_change_one_thing_are_asked_and_nothing_is_written(library):
    kept = keep(library, "setup", name="day", body=body())
    theirs = save(library, kept.id, key(body(), power="1/4"), base_revision=1)
    mine = key(body(), power="1/16")
    asked = merge(library, kept.id, mine, base_revision=1)
    assert asked.kept is None
    assert asked.current == theirs == library.get(kept.id)
    assert [clash.path for clash in asked.clashes] == ["light.key.power"]
    beside = keep_both(library, kept.id, mine)
    assert (beside.name, beside.body) == ("day (mine)", mine)
    assert merge(library, kept.id, mine, base_revision=1, prefer="theirs").kept.body == theirs.body
    assert merge(library, kept.id, mine, base_revision=1, prefer="mine").kept.body == mine


def test_two_sound_edits_that_are_unsound_together_are_asked_about(library):
    """One window lowers the ceiling, the other raises the light: each is possible alone."""
    kept = keep(library, "setup", name="day", body=body())
    place = {"distance": "1.5 m", "side": "30 deg camera-left", "height": "2.7 m"}
    save(library, kept.id, key(body(), place=place), base_revision=1)
    low = body(room={**body()["room"], "height": "2.6 m"})
    for prefer in (None, "mine"):
        asked = merge(library, kept.id, low, base_revision=1, prefer=prefer)
        assert (asked.kept, asked.clashes) == (None, ())
        assert "2.6 m" in asked.unsound
    assert library.get(kept.id).revision == 2


def test_merging_from_a_revision_that_never_was_says_so(library):
    kept = keep(library, "setup", name="day", body=body())
    with pytest.raises(NotKept, match="revision 9"):
        merge(library, kept.id, body(), base_revision=9)


# ---------------------------------------------------------------- own things put into a set


def test_a_sitter_sits_down_as_the_set_has_it():
    turned = changed(SETUP, {"sitter": changed(SETUP.sitter, {"turn_deg": 15.0})})
    own = {"name": "Tom", "eye_height": "1.3 m"}
    sat = insert_part(turned, "sitter", own).sitter
    assert (sat.name, sat.eye_height_m, sat.turn_deg, sat.glasses) == ("Tom", 1.3, 15.0, None)
    assert insert_part(turned, "sitter", {**own, "turn": "0 deg"}).sitter.turn_deg == 0.0


def test_a_companion_is_replaced_where_they_stand():
    beside = {"name": "Ada", "across": "0.6 m", "eye_height": "1.2 m"}
    pair = checked_body("setup", body(companion=[beside]))
    setup = setup_from_toml(demo_setup_text(DEMO_STEMS[0]))
    setup = type(setup).model_validate(pair, by_alias=True, by_name=False, context={"typed": True})
    changed_pair = insert_part(setup, "sitter", {"name": "Tom"}, person="Ada")
    (tom,) = changed_pair.companions
    assert (tom.name, tom.across_m, changed_pair.sitter) == ("Tom", 0.6, setup.sitter)
    worn = insert_part(setup, "glasses", {"preset": "thin reading glasses"}, person="Ada")
    assert worn.companions[0].glasses.preset == "thin reading glasses"
    assert worn.sitter == setup.sitter


def test_a_metered_head_brings_its_reading_and_a_new_modifier_remembers_the_old_one():
    metered = insert_part(SETUP, "gear", {**HEAD, "meter": READING}, light="key")
    assert metered.lights[0].meter.aperture == 8.0
    umbrella = {"what": "modifier", "modifier": "reflected umbrella 110 cm"}
    own = changed(
        metered.lights[0], {"meter": changed(metered.lights[0].meter, {"modifier": None})}
    )
    setup = changed(metered, {"lights": (own, *metered.lights[1:])})
    swapped = insert_part(setup, "gear", umbrella, light="key").lights[0]
    assert swapped.modifier.preset == "reflected umbrella 110 cm"
    assert swapped.meter.modifier == own.modifier
    other_head = insert_part(setup, "gear", HEAD, light="key").lights[0]
    assert other_head.meter is None  # a reading of another head says nothing of this one
    assert part_of_setup(metered, "gear", light="key")["meter"]["modifier"] == {"preset": SOFTBOX}


def test_a_head_without_a_light_to_go_to_becomes_one_of_its_own():
    twice = insert_part(insert_part(SETUP, "gear", HEAD), "gear", {**HEAD, "meter": READING})
    assert [light.name for light in twice.lights] == [
        "key",
        "fill",
        "200 Ws studio head",
        "200 Ws studio head 2",
    ]
    assert twice.lights[3].modifier.preset == SOFTBOX


def test_other_gear_finds_its_place():
    stand = {"what": "stand", "stand": {"highest": "2.6 m"}}
    assert insert_part(SETUP, "gear", stand, light="fill").lights[1].stand.highest_m == 2.6
    panel = {"what": "panel", "width": "1 m", "height": "2 m"}
    assert insert_part(SETUP, "gear", panel).panels[0].height_m == 2.0
    paper = {"what": "backdrop", "width": "2 m", "height": "2.2 m", "reflectance": 0.9}
    hung = insert_part(SETUP, "gear", paper).backdrop
    assert (hung.reflectance, hung.distance_m) == (0.9, SETUP.backdrop.distance_m)


@pytest.mark.parametrize(
    ("kind", "part", "where", "told"),
    [
        ("gear", {"what": "modifier", "modifier": SOFTBOX}, {}, '"key", "fill"'),
        ("gear", HEAD, {"light": "rim"}, '"key", "fill"'),
        ("glasses", {"preset": "thin reading glasses"}, {"person": "Bob"}, "Ines"),
        ("room", {"width": "2 m", "length": "3 m", "height": "2 m"}, {}, "camera"),
    ],
)
def test_what_does_not_fit_the_set_is_told(kind, part, where, told):
    with pytest.raises(SetupError, match=told):
        insert_part(SETUP, kind, part, **where)


# ---------------------------------------------------------------- heads known by a reading


def reading_of(light, *, more_stops=0.0):
    """What a meter shows of a light of the set, and how a person would write it down."""
    from tapemark.analysis.head_output import head_output

    meter = {"aperture": "f/8", "distance": "2 m", "modifier": {"preset": SOFTBOX}}
    metered = insert_part(
        SETUP, "gear", calibrated(part_of_setup(SETUP, "gear", light=light), meter), light=light
    )
    lit = changed(metered.lights[0], {"power_stops": 0.0})
    expected = head_output(changed(lit, {"meter": None}), camera=SETUP.camera).brightness
    shown = head_output(lit, camera=SETUP.camera).brightness
    aperture = 8.0 * (expected / shown * 2.0**more_stops) ** 0.5
    return {**meter, "aperture": f"f/{aperture:.4f}"}


@pytest.mark.parametrize(
    ("more_stops", "told"),
    [
        (0.0, "agrees with its stored energy"),
        (1.0, "1.0 stop more light than its stored energy"),
        (-0.7, "0.7 stops less light"),
    ],
)
def test_a_reading_is_told_against_what_was_to_be_expected(more_stops, told):
    head = part_of_setup(SETUP, "gear", light="key")
    assert calibration_of(head) is None
    kept = calibrated(head, reading_of("key", more_stops=more_stops))
    found = calibration_of(kept)
    assert found.over_stops == pytest.approx(more_stops, abs=0.15)  # apertures come in tenths
    assert told in found.text
    assert checked_body("gear", kept) == kept


def test_a_reading_alone_is_enough_and_only_heads_are_metered():
    unknown = {"what": "head", "name": "old one", "head": {"kind": "flash"}}
    assert calibration_of(calibrated(unknown, READING)).over_stops is None
    with pytest.raises(SetupError, match="meter"):
        calibrated({"what": "modifier", "modifier": SOFTBOX}, READING)


# ---------------------------------------------------------------- imported files


def test_an_import_with_one_thing_that_cannot_be_read_brings_nothing(library, tmp_path):
    with Library.open(tmp_path / "other.sqlite") as other:
        other.add("room", name="den", body=body()["room"])
        other.add("setup", name="odd day", body={"room": {}})
        raw = other.export_text().encode()
    with pytest.raises(SetupError, match="odd day"):
        import_bytes(library, raw)
    assert library.kept() == ()
