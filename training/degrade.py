"""From drawn lines to what a phone's camera makes of them, on the graphics processor.

Video output, panel, lens, hand, glass, sensor, JPEG: each as plain as will do, each drawn at random
far beyond what a good photograph shows. Written from optics, not from any camera's simulator.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import torch
from torch import Tensor
from torch.nn import functional

LINE = 32
"""Height of a line as the recogniser takes it, in pixels."""


@dataclass(frozen=True)
class Boxes:
    """Where the crops lie on the canvases, in pixels; each a vector over the batch."""

    left: Tensor
    right: Tensor
    top: Tensor
    bottom: Tensor


@dataclass(frozen=True)
class Dice:
    """Random vectors over a batch of ``count``, drawn from ``gen``."""

    gen: torch.Generator
    count: int
    device: torch.device

    def uni(self, low: float, high: float) -> Tensor:
        """Evenly between ``low`` and ``high``."""
        return low + (high - low) * torch.rand(self.count, generator=self.gen, device=self.device)

    def some(self, share: float) -> Tensor:
        """1 for a ``share`` of them, 0 for the others."""
        return (torch.rand(self.count, generator=self.gen, device=self.device) < share).float()


def degrade(
    ink: Tensor, boxes: Boxes, hardness: Tensor, gen: torch.Generator
) -> tuple[Tensor, Tensor]:
    """``ink`` n x 2 x h x w (0..1), ``hardness`` n (0 clean .. 1 hard) -> lines n x 1 x LINE x W
    with mean 0 and deviation 1 over each line's own width (0 beyond it), and those widths."""
    dev = ink.device
    dice = Dice(gen, ink.shape[0], dev)
    uni = dice.uni
    signal = _signal(ink, dice)
    high = boxes.bottom - boxes.top
    stretch = torch.exp(uni(-0.28, 0.22) * (0.4 + 0.6 * hardness))
    across = (boxes.right - boxes.left) / high * stretch
    photo = int(torch.randint(13, 60, (1,), generator=gen, device=dev).item())
    photo = max(photo, 16) if float(hardness.mean()) < 0.4 else photo
    wide = max(8, math.ceil(float(across.max()) * photo))
    double = 2
    light = _sample(signal, boxes, (photo * double, wide * double), (stretch, hardness), dice)
    light = light.clamp(0, 1) ** 2.2
    light = _lens(light, photo * double, hardness, dice)
    light = functional.avg_pool2d(light, double)
    light = _glass(light, hardness, dice)
    picture = light.clamp(1e-5, 4.0) ** (1 / 2.2)
    picture = _sensor(picture, hardness, dice)
    picture = _jpeg(picture, hardness, dice)
    own = (across * photo).round().clamp(min=4)
    target = (own * LINE / photo).round().clamp(min=8)
    line = functional.interpolate(
        picture,
        size=(LINE, max(8, round(wide * LINE / photo))),
        mode="bilinear",
        align_corners=False,
        antialias=True,
    )
    return _normalised(line, target), target


def _each(values: Tensor) -> Tensor:
    """One value for each picture of n x 1 x h x w."""
    return values[:, None, None, None]


def _flat(values: Tensor) -> Tensor:
    """One value for each picture of n x h x w."""
    return values[:, None, None]


def _signal(ink: Tensor, dice: Dice) -> Tensor:
    """Levels on the monitor: ground, writing, cursor bar; softness and comb of analogue video."""
    uni, some = dice.uni, dice.some
    h, w = ink.shape[2:]
    ground, ink_level = uni(0.0, 1.0), uni(0.0, 1.0)
    apart = uni(0.18, 1.0)
    way = torch.where(ground + apart > 1, -torch.ones_like(apart), torch.ones_like(apart))
    way = torch.where((ground - apart < 0) & (way < 0), -way, way)
    ink_level = (ground + way * apart).clamp(0, 1)
    bar_level = torch.where(some(0.5) > 0, ground + 0.4 * way * apart * uni(-1, 0.6), uni(0, 1))
    on_bar = torch.where((bar_level - ink_level).abs() < 0.25, 1 - ink_level.round(), ink_level)
    on_bar = torch.where((bar_level - on_bar).abs() < 0.2, 1 - bar_level.round(), on_bar)
    tilt = uni(-0.12, 0.12) * some(0.4)
    down = torch.linspace(-1, 1, h, device=ink.device)[None, None, :, None]
    sideways = torch.linspace(-1, 1, w, device=ink.device)[None, None, None, :]
    base = _each(ground) + _each(tilt) * down + _each(uni(-0.1, 0.1) * some(0.3)) * sideways
    bar = ink[:, 1:2]
    base = base * (1 - bar) + _each(bar_level) * bar
    level = _each(ink_level) * (1 - bar) + _each(on_bar) * bar
    cover = ink[:, 0:1] * _each(torch.where(some(0.1) > 0, uni(0.6, 1.0), torch.ones_like(tilt)))
    picture = base * (1 - cover) + level * cover
    # Analogue video: soft sideways, ringing, fields that are not quite on top of each other.
    soft = uni(0.3, 1.3) * some(0.4)
    picture = _blur_rows(picture, soft)
    ring = uni(0.0, 0.5) * (soft > 0)
    picture = picture + _each(ring) * (picture - _blur_rows(picture, soft + 0.9))
    comb = uni(-0.8, 0.8) * some(0.15)
    shifted = _shift_rows(picture, comb)
    odd = (torch.arange(h, device=ink.device) % 2).float()[None, None, :, None]
    picture = picture * (1 - odd) + shifted * odd
    lines = _each(uni(0.0, 0.35) * some(0.15))
    return picture * (1 - lines * odd)


def _blur_rows(picture: Tensor, sigma: Tensor) -> Tensor:
    """Gaussian along rows, a sigma (pixels) for each picture."""
    n = picture.shape[0]
    x = torch.arange(-4, 5, device=picture.device).float()
    kernel = torch.exp(-0.5 * (x[None] / sigma[:, None].clamp(min=0.05)) ** 2)
    kernel = kernel / kernel.sum(1, keepdim=True)
    flat = picture.transpose(0, 1)
    out = functional.conv2d(
        functional.pad(flat, (4, 4, 0, 0), mode="replicate"), kernel[:, None, None, :], groups=n
    )
    return out.transpose(0, 1)


def _shift_rows(picture: Tensor, by: Tensor) -> Tensor:
    """Sideways by ``by`` pixels (-1..1), one value for each picture."""
    other = torch.roll(picture, 1, 3)
    before = torch.roll(picture, -1, 3)
    v = _each(by)
    return torch.where(v > 0, picture * (1 - v) + other * v, picture * (1 + v) - before * v)


def _sample(
    signal: Tensor, boxes: Boxes, size: tuple[int, int], how: tuple[Tensor, Tensor], dice: Dice
) -> Tensor:
    """The crop at ``size`` (rows, columns); slightly turned, sheared and out of place. Pixels of
    the monitor stay visible where the photograph is dense. ``how``: stretch along the line, and
    hardness."""
    uni = dice.uni
    stretch, hardness = how
    h, w = signal.shape[2:]
    rows, columns = size
    high = boxes.bottom - boxes.top
    scale = high / rows
    y = (torch.arange(rows, device=signal.device).float() + 0.5)[None, :, None]
    x = (torch.arange(columns, device=signal.device).float() + 0.5)[None, None, :]
    turn = uni(-0.035, 0.035) * (0.25 + 0.75 * hardness)
    shear = uni(-0.16, 0.16) * (0.2 + 0.8 * hardness)
    bend = uni(-0.0006, 0.0006) * hardness
    yy = _flat(boxes.top + uni(-0.07, 0.07) * high) + y * _flat(scale)
    xx = _flat(boxes.left) + x * _flat(scale / stretch)
    middle = _flat((boxes.top + boxes.bottom) / 2)
    centre = _flat((boxes.left + boxes.right) / 2)
    yy2 = (
        yy
        + _flat(turn) * (xx - centre).clamp(-150, 150)
        + _flat(bend) * ((xx - centre).clamp(-120, 120)) ** 2 / 4
    )
    xx2 = xx + _flat(shear) * (yy - middle)
    big = functional.interpolate(signal, scale_factor=2, mode="nearest")
    grid = torch.stack([xx2 / w * 2 - 1, yy2 / h * 2 - 1], dim=-1)
    return functional.grid_sample(
        big, grid, mode="bilinear", padding_mode="border", align_corners=False
    )


def _lens(light: Tensor, rows: int, hardness: Tensor, dice: Dice) -> Tensor:
    """Defocus and shake: one kernel for each picture. Sigmas are shares of the line's height."""
    uni, some = dice.uni, dice.some
    n = light.shape[0]
    size = min(31, max(5, int(rows * 0.3) | 1))
    reach = size // 2
    line = torch.arange(-reach, reach + 1, device=light.device).float()
    yy, xx = torch.meshgrid(line, line, indexing="ij")
    sigma = (0.012 + 0.075 * hardness * uni(0, 1) ** 1.5 + 0.02 * uni(0, 1)) * rows
    angle = uni(0, math.pi)
    long = (0.16 * hardness * uni(0, 1) ** 2) * some(0.6) * rows
    along = _flat(torch.cos(angle)) * xx + _flat(torch.sin(angle)) * yy
    aside = -_flat(torch.sin(angle)) * xx + _flat(torch.cos(angle)) * yy
    narrow = sigma.clamp(min=0.35)
    # A streak with soft ends.
    gauss = torch.exp(-0.5 * (aside / _flat(narrow)) ** 2)
    ends = torch.exp(-0.5 * ((along.abs() - _flat(long / 2)).clamp(min=0) / _flat(narrow)) ** 2)
    kernel = gauss * ends
    kernel = kernel / kernel.sum((1, 2), keepdim=True)
    flat = functional.pad(light.transpose(0, 1), (reach,) * 4, mode="replicate")
    return functional.conv2d(flat, kernel[:, None], groups=n).transpose(0, 1)


def _glass(light: Tensor, hardness: Tensor, dice: Dice) -> Tensor:
    """Room light, glare, roll bands, moiré, dirt, uneven exposure."""
    uni, some = dice.uni, dice.some
    rows, columns = light.shape[2:]
    y = torch.linspace(0, 1, rows, device=light.device)[None, None, :, None]
    x = torch.arange(columns, device=light.device).float()[None, None, None, :] / rows
    far = columns / rows
    h = hardness
    # Roll bands: soft-edged steps of light.
    depth = (0.35 * h * uni(0, 1)) * some(0.5)
    edge = uni(-0.2, 1.2)
    light = light * (
        1
        - _each(depth)
        * torch.sigmoid((y - _each(edge)) * _each(uni(3, 25)) * _each(some(0.5) * 2 - 1))
    )
    # Moiré: two slow gratings, one of them on the panel's light only.
    for _ in range(2):
        height = (0.02 + 0.22 * h) * uni(0, 1) * some(0.45)
        freq, way = torch.exp(uni(0.0, 2.6)), uni(0, math.pi)
        phase = 2 * math.pi * _each(freq) * (x * _each(torch.cos(way)) + y * _each(torch.sin(way)))
        light = light * (1 + _each(height) * torch.sin(phase + _each(uni(0, 6.28))))
    # Room light, a bright spot, a slow slope.
    room = (0.12 + 0.35 * h) * uni(0, 1)
    spot = (1.4 * h * uni(0, 1) ** 2) * some(0.3)
    sx, sy, reach = uni(0, 1) * far, uni(-0.5, 1.5), uni(0.4, 3.0)
    blob = torch.exp(-((x - _each(sx)) ** 2 + (y - _each(sy)) ** 2) / _each(reach) ** 2)
    slope = _each(uni(-0.25, 0.25) * h) * (x / far - 0.5)
    light = light * (1 + slope) + _each(room) * _each(uni(0.3, 1.0)) + _each(spot) * blob
    # Dirt and scratches on the screen.
    dirt = (0.7 * h * uni(0, 1)) * some(0.12)
    dx, dy, dr = uni(0, 1) * far, uni(0, 1), uni(0.05, 0.4)
    light = light * (
        1 - _each(dirt) * torch.exp(-((x - _each(dx)) ** 2 + (y - _each(dy)) ** 2) / _each(dr) ** 2)
    )
    peak = light.amax((1, 2, 3))
    exposure = torch.exp(uni(-1.0, 0.35) * (0.35 + 0.65 * h)) / peak.clamp(min=0.05)
    return light * _each(exposure)


def _sensor(picture: Tensor, hardness: Tensor, dice: Dice) -> Tensor:
    """Noise, sharpening and denoising."""
    uni, some = dice.uni, dice.some
    noise = torch.randn(picture.shape, generator=dice.gen, device=picture.device)
    smooth = (
        functional.avg_pool2d(functional.pad(noise, (1, 1, 1, 1), mode="replicate"), 3, 1) * 2.2
    )
    kind = _each(some(0.5))
    noise = noise * (1 - kind) + smooth * kind
    picture = picture + _each(0.004 + 0.045 * hardness * uni(0, 1)) * noise
    # Sharpening and denoising, as phones do.
    soft = functional.avg_pool2d(functional.pad(picture, (1, 1, 1, 1), mode="replicate"), 3, 1)
    return (picture + _each(uni(-0.4, 1.1) * some(0.6)) * (picture - soft)).clamp(0, 1)


_LUMA = torch.tensor([  # ITU-T T.81, Table K.1
    16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56,
    14, 17, 22, 29, 51, 87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113,
    92, 49, 64, 78, 87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99,
], dtype=torch.float32).reshape(8, 8)  # fmt: skip


def _jpeg(picture: Tensor, hardness: Tensor, dice: Dice) -> Tensor:
    """Quantised as JPEG does, blocks at a random place."""
    uni = dice.uni
    n, _, rows, columns = picture.shape
    dy, dx = (int(t) for t in torch.randint(0, 8, (2,), generator=dice.gen, device=picture.device))
    bottom, right = -(rows + dy) % 8, -(columns + dx) % 8
    big = functional.pad(picture, (dx, right, dy, bottom), mode="replicate") * 255 - 128
    k = torch.arange(8, device=picture.device).float()
    basis = torch.cos((2 * k[None] + 1) * k[:, None] * math.pi / 16) * math.sqrt(2 / 8)
    basis[0] = basis[0] / math.sqrt(2)
    hb, wb = big.shape[2] // 8, big.shape[3] // 8
    blocks = big.reshape(n, hb, 8, wb, 8).permute(0, 1, 3, 2, 4)
    coefficients = basis @ blocks @ basis.T
    quality = (97 - 45 * hardness * uni(0, 1) - 8 * uni(0, 1)).clamp(40, 99)
    factor = torch.where(quality < 50, 5000 / quality, 200 - 2 * quality) / 100
    table = (_LUMA.to(picture.device)[None] * factor[:, None, None]).clamp(min=1.0)
    table = table[:, None, None]
    coefficients = (coefficients / table).round() * table
    blocks = basis.T @ coefficients @ basis
    big = blocks.permute(0, 1, 3, 2, 4).reshape(n, 1, hb * 8, wb * 8)
    big = (big + 128) / 255
    return big[:, :, dy : dy + rows, dx : dx + columns].clamp(0, 1)


def _normalised(line: Tensor, own: Tensor) -> Tensor:
    """Mean 0, deviation 1 over each line's own width; 0 beyond."""
    line = (line * 255).round() / 255
    inside = (torch.arange(line.shape[3], device=line.device)[None] < own[:, None]).float()
    inside = inside[:, None, None, :]
    count = (inside.sum((1, 2, 3)) * line.shape[2]).clamp(min=1)[:, None, None, None]
    mean = (line * inside).sum((1, 2, 3), keepdim=True) / count
    spread = (((line - mean) * inside) ** 2).sum((1, 2, 3), keepdim=True) / count
    return (line - mean) / (spread.sqrt() + 0.01) * inside
