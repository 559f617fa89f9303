"""What is written beside the face: readings, eyes, the nose's shadow and shine."""

from tapemark.analysis import EyeShade, FaceZones, NoseShadow, Scene, Sheen, aperture_text
from tapemark.analysis.finding import percent, stops_text
from tapemark.analysis.modelling import FaceReading
from tapemark.photometry import FLAT, aperture_from_exposure
from tapemark.units import INCH, MM, UnitSystem

Lines = tuple[tuple[str, int], ...]
_LEAST_SHADE = 0.005  # less is not said


def aperture_of(exposure_lx_s: float, scene: Scene) -> str:
    """Return what a flat receptor laid on the skin meters, in words."""
    iso = scene.setup.camera.iso
    return aperture_text(float(aperture_from_exposure(exposure_lx_s, iso=iso, calibration=FLAT)))


def against_key(stops: float) -> str:
    """Return a reading against the key's: ``0.4 stops under``."""
    if abs(stops) < 0.05:
        return "as the key"
    return f"{stops_text(stops)} {'over' if stops > 0 else 'under'}"


def _meters(exposure_lx_s: float, stops: float | None, scene: Scene) -> str:
    if stops is None:
        return "no light"
    return f"{aperture_of(exposure_lx_s, scene)}, {against_key(stops)}"


def reading_lines(name: str, reading: FaceReading, scene: Scene) -> Lines:
    """Return the lines of a reading on the skin."""
    words = _meters(reading.exposure_lx_s, reading.stops_from_key, scene)
    return ((name, 600), (words, 400))


def eye_lines(side: str, shade: EyeShade, zones: FaceZones, *, index: int, scene: Scene) -> Lines:
    """Return the lines of an eye: its reading and what brow and rim keep from it."""
    amount, stops = zones.eye_exposures_lx_s[index], zones.eye_stops[index]
    lines = [(f"{side} eye", 600), (_meters(amount, stops, scene), 400)]
    if shade.head_share >= _LEAST_SHADE:
        lines.append((f"brow, nose take {percent(shade.head_share)}", 400))
    if shade.rim_share >= _LEAST_SHADE:
        lines.append((f"rim takes {percent(shade.rim_share)}", 400))
    if len(lines) == 2 and stops is not None:
        lines.append(("no shade", 400))
    return tuple(lines)


def small_length(length_mm: float, *, system: UnitSystem) -> str:
    """Return a length on a face as one says it: ``25 mm``, ``1.0 in``."""
    if system == "us":
        return f"{length_mm * MM / INCH:.1f} in"
    return f"{length_mm:.0f} mm"


def nose_lines(nose: NoseShadow, *, system: UnitSystem) -> Lines:
    """Return the lines of the nose's shadow: how long it is and which way it falls."""
    turned = round(abs(nose.falls_deg))
    way = "straight down"
    if turned >= 3:
        side = "right" if nose.falls_deg > 0 else "left"
        way = f"{turned}° from straight down, sitter's {side}"
    if nose.length_mm is None:
        return (("nose shadow", 600), ("runs into the cheek's", 400), (way, 400))
    lines = [(f"nose shadow {small_length(nose.length_mm, system=system)}", 600)]
    lines += [(part, 400) for part in way.split(", ")]
    if nose.crosses_lip:
        lines.append(("reaches onto the lip", 400))
    if nose.edge_mm is not None:
        lines.append((f"edge {small_length(nose.edge_mm, system=system)} soft", 400))
    return tuple(lines)


def shine_lines(one: Sheen) -> Lines:
    """Return the lines of a part of the face that shines."""
    return (
        (f"{one.region} shines", 600),
        (f"+{stops_text(one.stops_over_skin)}, {one.source}", 400),
    )
