"""The reading of a photo as text."""

from tapemark.cli.lines import percent, signed
from tapemark.photo import EyeSeen, ShotReading, WearerReading

_VERDICTS = {
    "clear": "clear",
    "edge": "reflection on the lens, beside the eye",
    "veiled": "reflection over the eye",
    "unsure": "not sure",
    "no glasses": "no glasses",
}


def reading_text(reading: ShotReading) -> str:
    """Return a reading as lines for the terminal."""
    columns, rows = reading.size
    facts = reading.facts
    about = [f"{reading.kind}, {columns} x {rows} pixels"]
    about += [one for one in (facts.camera, facts.lens, facts.text, facts.taken) if one]
    lines = [f"{reading.name}: {reading.verdict}", f"  file       {'; '.join(about)}"]
    if not reading.wearers:
        lines.append("  no face was found: give the pupils with --pupils x,y,x,y")
    many = len(reading.wearers) > 1
    for wearer in reading.wearers:
        lines += _wearer_lines(wearer, many=many)
    return "\n".join(lines)


def _wearer_lines(wearer: WearerReading, *, many: bool) -> list[str]:
    lines = []
    if many:
        lines.append(f"  person {wearer.number} from camera-left: {_VERDICTS[wearer.verdict]}")
    for eye in wearer.eyes:
        lines += _eye_lines(eye)
    if wearer.glasses < 0.5:
        lines.append("  glasses    none found")
    open_words = {True: "both open", False: "shut or nearly so", None: "cannot be told"}
    near = f"{wearer.near_side} eye, the nearer one" if wearer.near_side else "eyes"
    lines.append(f"  eyes       {open_words[wearer.is_open]}")
    lines.append(f"  focus      {near}: {'sharp' if wearer.is_sharp else 'not sharp'}")
    if wearer.skin_clipped_share > 0.01:
        lines.append(
            f"  skin       {percent(wearer.skin_clipped_share).strip()} of it is clipped around "
            "the glasses"
        )
    lines += [f"  asks       {one}" for one in wearer.questions]
    return lines


def _eye_lines(eye: EyeSeen) -> list[str]:
    lens = eye.lens
    if lens is None:
        return []
    lines = [
        f"  {eye.side + ' lens':10s} {_VERDICTS[lens.verdict]}: {percent(lens.lens_cover).strip()}"
        f" of the lens, {percent(lens.veil).strip()} of the eye opening"
    ]
    for one in lens.reflections:
        column, row = one.center
        mend = "can be brought back" if one.recoverable else "cannot be brought back"
        over = f"{signed(one.stops_over_skin)} stops against the skin"
        lines.append(
            f"             {one.color}, {percent(one.lens_cover).strip()} of the lens at "
            f"{column:.0f}, {row:.0f}; {over}; what is behind {mend}"
        )
    return lines
