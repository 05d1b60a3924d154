"""Simulated photos of the line card in a bar: rays from a camera, turned by a rough surface.

Nothing here knows how the figure is reckoned. Lengths in mm; x to the right, y up from the bar,
z from the card to the camera.
"""

import io
from dataclasses import dataclass, replace

import numpy as np
from PIL import Image

from snapgloss.quality import line_card

CARD_PX_PER_MM = 16
INDEX = 1.46  # cocoa butter, from memory
BAR_MM = (156.0, 76.0)
VIEW = 0.52  # width of the picture over its distance


@dataclass(frozen=True)
class Shot:
    """One photo. `rough_rad`: rms of the surface's slope. Angles in degrees, exposure 1 is good.

    `lean_deg`: how far the card leans from upright. `focus_px`: the camera's own blur, rms.
    `noise`: rms of the sensor's at white, of 1.
    """

    rough_rad: float
    seed: int = 1
    elevation_deg: float = 32.0
    turn_deg: float = 0.0
    roll_deg: float = 0.0
    away_mm: float = 330.0
    exposure: float = 1.0
    light_slope: float = 0.0
    lean_deg: float = 0.0
    wave_rad: float = 0.0004
    focus_px: float = 0.7
    noise: float = 0.02
    brown: float = 0.06
    width_px: int = 800
    rays: int = 4
    has_bar: bool = True


def drawn_shot(rough_rad: float, seed: int) -> Shot:
    """A photo as a person takes one: angle, distance, light and noise by the seed."""
    rng = np.random.default_rng(seed)
    return Shot(
        rough_rad, seed, elevation_deg=rng.uniform(27, 38), turn_deg=rng.normal(0, 4),
        roll_deg=rng.normal(0, 3), away_mm=rng.uniform(300, 400), exposure=rng.uniform(0.6, 1.05),
        light_slope=rng.uniform(-0.35, 0.35), lean_deg=rng.normal(0, 1.5),
        focus_px=rng.uniform(0.5, 1.2), noise=rng.uniform(0.01, 0.035),
        brown=rng.uniform(0.03, 0.09),
    )  # fmt: skip


def photo_of(shot: Shot, quality: int = 90) -> bytes:
    """The photo as JPEG."""
    kept = io.BytesIO()
    Image.fromarray(picture_of(shot)).save(kept, "JPEG", quality=quality)
    return kept.getvalue()


def picture_of(shot: Shot) -> np.ndarray:
    """The photo as bytes, rows by columns by three."""
    rng = np.random.default_rng(shot.seed)
    height_px = shot.width_px * 3 // 4
    light = np.zeros((height_px, shot.width_px))
    card = line_card.drawn(CARD_PX_PER_MM) * 0.81 + 0.04
    for _ in range(shot.rays):
        light += _seen(shot, card, rng, height_px)
    light = _blurred(light / shot.rays, shot.focus_px) * shot.exposure
    light += rng.normal(0, 1, light.shape) * shot.noise * np.sqrt(np.maximum(light, 0) + 0.02)
    coded = _srgb(np.clip(light[..., None] * (1.0, 0.97, 0.92), 0, 1))
    return np.round(coded * 255).astype(np.uint8)


def _seen(shot: Shot, card: np.ndarray, rng: np.random.Generator, height_px: int) -> np.ndarray:
    """What one ray for each pixel meets."""
    eye, way = _rays(shot, rng, height_px)
    found = np.full(way.shape[:2], 0.30)  # the wall
    with np.errstate(divide="ignore", invalid="ignore"):
        t_bar = -eye[1] / way[..., 1]
    floor = (way[..., 1] < 0) & (t_bar > 0)
    at_x, at_z = eye[0] + t_bar * way[..., 0], eye[2] + t_bar * way[..., 2]
    found[floor] = 0.22  # the table
    t_card, on_card, value = _card(shot, card, np.broadcast_to(eye, way.shape), way)
    if shot.has_bar:
        bar = floor & (np.abs(at_x) < BAR_MM[0] / 2) & (at_z > 0) & (at_z < BAR_MM[1])
        hit = np.stack([at_x, np.zeros_like(at_x), at_z], axis=-1)[bar]
        found[bar] = _from_bar(shot, card, rng, hit, way[bar])
    nearer = on_card & (~floor | (t_card < t_bar))
    return np.where(nearer, value, found)


def _rays(shot: Shot, rng: np.random.Generator, height_px: int) -> tuple[np.ndarray, np.ndarray]:
    """The eye, and a direction for each pixel, somewhere inside it."""
    up, turn, roll = np.radians([shot.elevation_deg, shot.turn_deg, shot.roll_deg])
    aim = np.array([0.0, 5.0, 8.0])
    back = np.array([np.sin(turn) * np.cos(up), np.sin(up), np.cos(turn) * np.cos(up)])
    right = np.cross([0.0, 1.0, 0.0], back)
    right /= np.linalg.norm(right)
    above = np.cross(back, right)
    right, above = (
        np.cos(roll) * right + np.sin(roll) * above, np.cos(roll) * above - np.sin(roll) * right,
    )  # fmt: skip
    rows, columns = np.indices((height_px, shot.width_px)) + rng.uniform(
        0, 1, (2, height_px, shot.width_px)
    )
    across = (columns - shot.width_px / 2) / shot.width_px * VIEW
    down = (rows - height_px / 2) / shot.width_px * VIEW
    way = across[..., None] * right - down[..., None] * above - back
    return aim + shot.away_mm * back, way / np.linalg.norm(way, axis=-1, keepdims=True)


def _card(
    shot: Shot, card: np.ndarray, eye: np.ndarray, way: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Where rays meet the card's plane, whether on the card, and how bright it is there."""
    lean = np.radians(shot.lean_deg)
    normal, up = (
        np.array([0, -np.sin(lean), np.cos(lean)]),
        np.array([0, np.cos(lean), np.sin(lean)]),
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        t = -(eye @ normal) / (way @ normal)
    at = eye + np.where(np.isfinite(t), t, 0)[..., None] * way
    x_mm, y_mm = at[..., 0] + line_card.WIDTH_MM / 2, at @ up
    on = (t > 0) & (x_mm > 0) & (x_mm < line_card.WIDTH_MM)
    on &= (y_mm > 0) & (y_mm < line_card.HEIGHT_MM)
    row = np.clip((line_card.HEIGHT_MM - y_mm) * CARD_PX_PER_MM, 0, card.shape[0] - 1).astype(int)
    column = np.clip(x_mm * CARD_PX_PER_MM, 0, card.shape[1] - 1).astype(int)
    return t, on, card[row, column] * (1 + shot.light_slope * at[..., 0] / line_card.WIDTH_MM)


def _from_bar(
    shot: Shot, card: np.ndarray, rng: np.random.Generator, hit: np.ndarray, way: np.ndarray
) -> np.ndarray:
    """Brown, and what the surface mirrors: the card, or the room behind it."""
    slope = rng.normal(0, shot.rough_rad, (2, len(hit)))
    for axis, length_mm in ((0, 37.0), (1, 29.0)):  # no bar is quite flat
        slope[axis] += shot.wave_rad * np.sin(2 * np.pi * hit[:, 2 * axis] / length_mm + shot.seed)
    normal = np.stack([slope[0], np.ones(len(hit)), slope[1]], axis=-1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    facing = -(way * normal).sum(axis=-1)
    away = way + 2 * facing[:, None] * normal
    least = ((INDEX - 1) / (INDEX + 1)) ** 2
    share = least + (1 - least) * (1 - np.clip(facing, 0, 1)) ** 5  # Schlick, from memory
    _, on, value = _card(shot, card, hit, away)
    lit = 1 + shot.light_slope * hit[:, 0] / BAR_MM[0]
    return shot.brown * lit + share * np.where(on, value, 0.12)


def _blurred(light: np.ndarray, sigma_px: float) -> np.ndarray:
    from scipy.ndimage import gaussian_filter

    return gaussian_filter(light, sigma_px)


def _srgb(linear: np.ndarray) -> np.ndarray:
    """IEC 61966-2-1, from memory."""
    return np.where(linear <= 0.0031308, linear * 12.92, 1.055 * linear ** (1 / 2.4) - 0.055)


__all__ = ["Shot", "drawn_shot", "photo_of", "picture_of", "replace"]
