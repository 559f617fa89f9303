"""Train the small network that tells lenses, reflections and pupils in the strip around the eyes.

    python scripts/train_lens_net.py FOLDER --out src/tapemark/photo/lens_net.onnx

FOLDER is what `labelled_pictures.py` wrote; only pictures for tuning are looked at, every eighth of
them is kept aside to see how well unknown ones are read. Needs `torch` and `onnx`, which nothing
else here does (install them in an environment of their own): the network runs in OpenCV. The kept
network is what 32,000 looks and then 75,000 (`--start`) at 335 pictures made.

Every look at a picture is another one: pupils are misread by some millimetres, sides are swapped,
light, colour, noise and compression change, and reflections are added to its lenses: panels, discs
and strips, tinted, doubled and cut off by the rim, in linear light, as glass adds them.
"""

import argparse
import itertools
import json
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import torch
from PIL import Image
from torch import nn
from torch.utils.data import DataLoader, IterableDataset, get_worker_info

from tapemark.photo.color import LUMINANCE, linear_light
from tapemark.photo.strip import COLUMNS, ROWS, eye_strip

RIGHT, LEFT, SHOWS, GLARE = 1, 2, 4 | 8, 128
MAPS = ("right lens", "left lens", "reflection", "right pupil", "left pupil")
WORTH_FINDING, FAINT = 2.0 ** (1.0 / 3.0) - 1.0, 0.15  # of lit skin: labelled; in no label
TALL, WIDE = 192, 320  # of the strip with its last row repeated, so that it halves four times
WIDTHS = (16, 24, 40, 56)
PUPIL_MM = 1.6
ELSEWHERE = 0.05  # of the looks go to a place without eyes, or nearly so
TINTS = ((1, 1, 1), (0.55, 1.15, 0.85), (0.75, 0.95, 2.2), (1.6, 0.75, 1.7), (1.5, 0.92, 0.35))


class LensNet(nn.Module):
    """Maps a strip (n, 3, 192, 320), 0 to 1, onto five maps (n, 5, 96, 160): see MAPS."""

    def __init__(self) -> None:
        super().__init__()
        first, *_ = WIDTHS
        self.stem = _layer(3, first, stride=2)
        self.down = nn.ModuleList(
            nn.Sequential(_layer(one, two, stride=2), _layer(two, two))
            for one, two in itertools.pairwise(WIDTHS)
        )
        self.own = nn.ModuleList(_layer(one, one) for one in WIDTHS)
        self.up = nn.ModuleList(nn.Conv2d(two, one, 1) for one, two in itertools.pairwise(WIDTHS))
        self.join = nn.ModuleList(_layer(one, one) for one in WIDTHS[:-1])
        self.last = nn.Conv2d(first, len(MAPS), 1)

    def forward(self, strip: torch.Tensor) -> torch.Tensor:
        """Return the maps, as logarithms of odds."""
        levels = [self.own[0](self.stem(strip))]
        for down, own in zip(self.down, self.own[1:], strict=True):
            levels.append(own(down(levels[-1])))
        found = levels.pop()
        for up, join in zip(self.up[::-1], self.join[::-1], strict=True):
            larger = nn.functional.interpolate(up(found), scale_factor=2.0, mode="nearest")
            found = join(levels.pop() + larger)
        return self.last(found)


def _layer(one: int, two: int, *, stride: int = 1) -> nn.Sequential:
    return nn.Sequential(
        nn.Conv2d(one, two, 3, stride=stride, padding=1, bias=False),
        nn.BatchNorm2d(two),
        nn.ReLU(inplace=True),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class Picture:
    """A labelled picture: its pixels, its marks and where the pupils are [px]."""

    pixels: np.ndarray
    marks: np.ndarray
    pupils: np.ndarray


@dataclass(frozen=True, kw_only=True, eq=False)
class Look:
    """One look at a picture: the strip, what it shows (5, rows, columns) and how that counts."""

    strip: np.ndarray
    maps: np.ndarray
    weight: np.ndarray


def pictures(
    folder: Path, *, known: dict[Path, Picture] | None = None, kept: bool | None
) -> dict[Path, Picture]:
    """Return the pictures for tuning that are not known yet: kept aside, to learn from, or all."""
    found = {}
    for path in sorted(folder.glob("shot-*.json")):
        if path in (known or {}):
            continue
        told = json.loads(path.read_text(encoding="utf-8"))
        if told["use"] != "tuning" or kept not in {None, told["seed"] // 2 % 8 == 0}:
            continue
        with Image.open(path.with_suffix(".jpg")) as image:
            pixels = np.asarray(image.convert("RGB"))
        with Image.open(path.with_suffix(".png")) as image:
            marks = np.asarray(image)
        pupils = np.array([told["pupils"][side] for side in ("right", "left")]) - 0.5
        found[path] = Picture(pixels=pixels, marks=marks, pupils=pupils)
    return found


def look_at(picture: Picture, random: np.random.Generator, *, vary: bool) -> Look:
    """Return a look at a picture; without variation the strip that true pupils give."""
    pupils = picture.pupils
    if vary:
        apart = np.linalg.norm(pupils[1] - pupils[0])
        much = random.choice([1.0, 2.5, 6.0], p=[0.5, 0.3, 0.2])
        pupils = pupils + random.normal(size=(2, 2)) * much * apart / 63.0
        if random.random() < 0.15:  # as thought by the square around a face alone
            pupils = pupils + random.normal(size=2) * 6.0 * apart / 63.0
        if random.random() < ELSEWHERE:
            pupils = elsewhere(picture, random)
    strip = eye_strip(picture.pixels, right=tuple(pupils[0]), left=tuple(pupils[1]))
    planes = [
        cv2.warpAffine(
            ((picture.marks & bits) > 0).astype(np.float32),
            strip.matrix,
            (COLUMNS, ROWS),
            flags=cv2.WARP_INVERSE_MAP | cv2.INTER_LINEAR,
        )
        for bits in (RIGHT, LEFT, GLARE, SHOWS)
    ]
    lenses, glare, shows = np.stack(planes[:2]), planes[2], planes[3]
    back = np.linalg.inv(strip.matrix[:, :2])
    at = (picture.pupils - strip.matrix[:, 2]) @ back.T
    light = linear_light(strip.pixels)
    added = np.zeros((ROWS, COLUMNS), dtype=np.float32)
    if vary and random.random() < 0.75:
        light, added = with_reflections(light, lenses, random)
    own = np.maximum(glare, (added > WORTH_FINDING) * lenses.max(axis=0))
    faint = (np.maximum(shows, added > FAINT) > 0.5) & (own < 0.5)
    if vary:
        light = developed_anew(light, random)
    pixels = np.round(np.clip(_encoded(light), 0.0, 1.0) * 255.0).astype(np.uint8)
    if vary and random.random() < 0.5:
        quality = [cv2.IMWRITE_JPEG_QUALITY, int(random.integers(45, 96))]
        pixels = cv2.imdecode(cv2.imencode(".jpg", pixels, quality)[1], cv2.IMREAD_COLOR)
    across, down = np.arange(COLUMNS)[None, :], np.arange(ROWS)[:, None]
    spots = [
        np.exp(-0.5 * ((across - x) ** 2 + (down - y) ** 2) / (2.0 * PUPIL_MM) ** 2) for x, y in at
    ]
    maps = np.stack([*lenses, own * lenses.max(axis=0), *spots]).astype(np.float32)
    weight = np.where(faint, 0.2, np.where(lenses.max(axis=0) > 0.5, 1.0, 0.15))
    weight = weight.astype(np.float32)
    if vary and random.random() < 0.5:
        maps = np.ascontiguousarray(maps[[1, 0, 2, 4, 3], :, ::-1])
        pixels, weight = np.ascontiguousarray(pixels[:, ::-1]), weight[:, ::-1]
    return Look(strip=pixels, maps=maps, weight=np.ascontiguousarray(weight))


def elsewhere(picture: Picture, random: np.random.Generator) -> np.ndarray:
    """Return two places in a picture that are no pupils, as a face that is none would have them."""
    apart = picture.pupils[1] - picture.pupils[0]
    span = apart * random.uniform(0.3, 1.5)
    middle = random.uniform(0.1, 0.9, size=2) * picture.marks.shape[1::-1]
    return middle + np.outer([-0.5, 0.5], span)


def with_reflections(
    light: np.ndarray, lenses: np.ndarray, random: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Return light with reflections added to the lenses, and what was added in lit skins."""
    below = light[130:, 60:260] @ LUMINANCE.astype(np.float32)
    skin = max(float(np.percentile(below, 70)), 0.02)
    total = np.zeros((ROWS, COLUMNS), dtype=np.float32)
    light = light.copy()
    for _ in range(int(random.integers(1, 4))):
        form = _form(random)
        where = random.uniform(-1.15, 1.15, size=2)
        bright, tint = 2.0 ** random.uniform(-3.4, 2.8), np.array(TINTS[random.integers(5)])
        tint = tint / (tint @ LUMINANCE)
        sides = (0, 1) if random.random() < 0.6 else (int(random.integers(2)),)
        for side in sides:
            rows, columns = np.nonzero(lenses[side] > 0.5)
            if rows.size < 50:
                continue
            middle = np.array([columns.mean(), rows.mean()])
            half = np.array([np.ptp(columns), np.ptp(rows)]) / 2.0
            copies = [(where + random.normal(size=2) * 0.12, 1.0, bright)]
            if random.random() < 0.5:
                more = where * random.uniform(0.4, 1.3) + random.normal(size=2) * 0.15
                copies.append((more, random.uniform(0.5, 1.8), bright * random.uniform(0.3, 1.0)))
            for at, larger, own in copies:
                mask = _filled(middle + at * half, form * larger, random) * (lenses[side] > 0.5)
                total += np.float32(own) * mask
                light += (np.float32(own * skin) * mask)[..., None] * tint.astype(np.float32)
    return light, total


def _form(random: np.random.Generator) -> np.ndarray:
    """Return the corners of a panel, disc, octagon or strip about its middle. [strip px]"""
    kind = random.integers(4)
    wide = 2.0 ** random.uniform(1.6, 5.6)
    tall = wide * (
        2.0 ** random.uniform(-0.8, 0.8) if kind != 3 else 2.0 ** random.uniform(-3, -1.6)
    )
    if kind in (0, 3):
        corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
        corners = corners * (1.0 + 0.18 * random.normal(size=(4, 1)))
        steps = np.arange(6)[:, None] / 6.0
        sides = [
            one + steps * (two - one)
            for one, two in zip(corners, np.roll(corners, -1, 0), strict=True)
        ]
        corners = np.concatenate(sides)
        corners = corners * (
            1.0 + random.uniform(-0.12, 0.12) * (corners**2).sum(-1, keepdims=True)
        )
    else:
        count = 8 if kind == 1 else 40
        angle = (np.arange(count) + 0.5) * 2.0 * np.pi / count
        corners = 1.1 * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    turn = random.uniform(0.0, np.pi)
    cosine, sine = np.cos(turn), np.sin(turn)
    return corners * np.array([wide, tall]) / 2.0 @ np.array([[cosine, sine], [-sine, cosine]])


def _filled(middle: np.ndarray, form: np.ndarray, random: np.random.Generator) -> np.ndarray:
    mask = np.zeros((ROWS, COLUMNS), dtype=np.float32)
    points = np.round((middle + form) * 16.0).astype(np.int32)
    cv2.fillPoly(mask, [points], 1.0, lineType=cv2.LINE_AA, shift=4)
    if random.random() < 0.3:  # brighter in the middle
        away = np.hypot(
            np.arange(COLUMNS)[None, :] - middle[0], np.arange(ROWS)[:, None] - middle[1]
        )
        mask *= 1.0 - 0.6 * np.clip(away / np.abs(form).max(), 0.0, 1.0).astype(np.float32) ** 2
    return cv2.GaussianBlur(mask, (0, 0), random.uniform(0.4, 1.4))


def developed_anew(light: np.ndarray, random: np.random.Generator) -> np.ndarray:
    """Return light exposed, balanced and blurred otherwise, with noise."""
    light = light * np.float32(2.0 ** random.uniform(-0.8, 0.5))
    light = light * (2.0 ** (random.normal(size=3) * 0.12)).astype(np.float32)
    grey = (light @ LUMINANCE.astype(np.float32))[..., None]
    color = np.float32(0.0 if random.random() < 0.05 else random.uniform(0.6, 1.25))
    light = np.maximum(grey + color * (light - grey), 0.0)
    light = light ** np.float32(random.uniform(0.85, 1.2))
    if random.random() < 0.4:
        light = cv2.GaussianBlur(light, (0, 0), random.uniform(0.3, 1.3))
    noise = np.sqrt(
        np.maximum(light, 0.0) / np.float32(10.0 ** random.uniform(3.0, 4.6)) + np.float32(1e-6)
    )
    return light + noise * random.standard_normal(size=light.shape, dtype=np.float32)


def _encoded(light: np.ndarray) -> np.ndarray:
    light = np.clip(light, 0.0, 1.0)
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1.0 / 2.4) - 0.055)


def as_tensors(looks: list[Look]) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
    """Return strips, maps and weights of some looks, at the sizes of the network."""
    more = ((0, TALL - ROWS), (0, 0))
    strips = [np.pad(one.strip, (*more, (0, 0)), mode="edge") for one in looks]
    maps = [np.pad(one.maps, ((0, 0), *more), mode="edge") for one in looks]
    weights = [np.pad(one.weight, more, mode="edge") for one in looks]
    strip = torch.from_numpy(np.stack(strips)).permute(0, 3, 1, 2).float() / 255.0
    half = nn.functional.avg_pool2d
    return (
        strip,
        half(torch.from_numpy(np.stack(maps)), 2),
        half(torch.from_numpy(np.stack(weights))[:, None], 2),
    )


def loss_of(found: torch.Tensor, maps: torch.Tensor, weight: torch.Tensor) -> torch.Tensor:
    """Return how far maps are from what is there."""
    each = nn.functional.binary_cross_entropy_with_logits(found, maps, reduction="none")
    glare = torch.sigmoid(found[:, 2]) * weight[:, 0]
    there = maps[:, 2] * weight[:, 0]
    shared = (glare * there).sum(dim=(1, 2))
    dice = 1.0 - (2.0 * shared + 8.0) / (glare.sum(dim=(1, 2)) + there.sum(dim=(1, 2)) + 8.0)
    pupils = each[:, 3:] * (1.0 + 30.0 * maps[:, 3:])
    return (
        each[:, :2].mean()
        + 3.0 * (each[:, 2:3] * weight).mean()
        + 0.5 * dice.mean()
        + pupils.mean()
    )


def score(net: LensNet, kept: list[Picture]) -> str:
    """Return how well pictures that were kept aside are read."""
    random = np.random.default_rng(5)
    net.eval()
    lines = []
    for vary in (False, True):
        looks = [look_at(one, random, vary=vary) for one in kept for _ in range(3 if vary else 1)]
        strip, maps, _ = as_tensors(looks)
        with torch.no_grad():
            found = torch.sigmoid(net(strip))
        overlap = _overlaps(found[:, :2], maps[:, :2])
        glare = _overlaps(found[:, 2:3], maps[:, 2:3])
        there = maps[:, 2].flatten(1).sum(1) > 6
        none = maps[:, 2].flatten(1).max(1).values < 0.1
        read = (found[:, 2] > 0.5).flatten(1).sum(1)
        away = [
            float((_peak(one) - _peak(two)).norm())
            for one, two in zip(found[:, 3:].flatten(0, 1), maps[:, 3:].flatten(0, 1), strict=True)
        ]
        lines.append(
            f"lens {overlap.nanmedian():.3f} glare {glare[there].nanmedian():.3f} "
            f"found {float((read[there] > 2).float().mean()):.3f} "
            f"false {float((read[none] > 6).float().mean()):.3f} "
            f"pupil off {np.mean(np.array(away) > 4.0):.3f}"
        )
    net.train()
    return " | ".join(lines)


def _overlaps(found: torch.Tensor, there: torch.Tensor) -> torch.Tensor:
    one, two = found > 0.5, there > 0.5
    both, either = (one & two).flatten(2).sum(2), (one | two).flatten(2).sum(2)
    return torch.where(two.flatten(2).any(2), both / either.clamp(min=1), torch.nan).mean(1)


def _peak(plane: torch.Tensor) -> torch.Tensor:
    at = int(plane.argmax())
    return torch.tensor([at // plane.shape[1], at % plane.shape[1]], dtype=torch.float32)


class Looks(IterableDataset):
    """Looks at the pictures of a folder without end; new pictures are taken up as they come."""

    def __init__(self, folder: Path, *, whole: bool) -> None:
        self.folder, self.whole = folder, whole

    def __iter__(self) -> Iterator[Look]:
        worker = get_worker_info()
        random = np.random.default_rng((3, worker.id if worker else 0))
        known: dict[Path, Picture] = {}
        while True:
            known |= pictures(self.folder, known=known, kept=None if self.whole else False)
            learned = list(known.values())
            for one in random.integers(len(learned), size=500):
                yield look_at(learned[one], random, vary=True)


def train(folder: Path, *, looks: int, batch: int, whole: bool, start: Path | None) -> LensNet:
    """Return a trained network."""
    torch.manual_seed(3)
    kept = list(pictures(folder, kept=True).values())
    net = LensNet().to(memory_format=torch.channels_last)
    if start is not None:
        net.load_state_dict(torch.load(start))
    steps = looks // batch
    pace = torch.optim.AdamW(net.parameters(), lr=3e-3, weight_decay=1e-4)
    plan = torch.optim.lr_scheduler.OneCycleLR(pace, max_lr=4e-3, total_steps=steps)
    source = DataLoader(
        Looks(folder, whole=whole), batch_size=batch, num_workers=2, collate_fn=as_tensors
    )
    begun = time.monotonic()
    for step, (strip, maps, weight) in zip(range(steps), source, strict=False):
        with torch.autocast("cpu", dtype=torch.bfloat16):
            found = net(strip.contiguous(memory_format=torch.channels_last))
        loss = loss_of(found.float(), maps, weight)
        pace.zero_grad()
        loss.backward()
        pace.step()
        plan.step()
        if (step + 1) % max(steps // 16, 1) == 0:
            gone = time.monotonic() - begun
            print(
                f"{(step + 1) * batch} looks, {gone:.0f} s: loss {loss.item():.3f}; "
                f"{score(net, kept)}",
                flush=True,
            )
    return net


def main() -> None:
    """Train and write the network."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--looks", type=int, default=30_000)
    parser.add_argument("--batch", type=int, default=16)
    parser.add_argument("--whole", action="store_true", help="keep nothing aside")
    parser.add_argument("--start", type=Path, help="weights to go on from")
    given = parser.parse_args()
    net = train(
        given.folder, looks=given.looks, batch=given.batch, whole=given.whole, start=given.start
    )
    torch.save(net.state_dict(), given.out.with_suffix(".pt"))
    net.eval()
    whole = nn.Sequential(net, nn.Sigmoid())
    torch.onnx.export(
        whole, (torch.zeros(1, 3, TALL, WIDE),), given.out, opset_version=13, dynamo=False
    )


if __name__ == "__main__":
    main()
