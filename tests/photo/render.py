"""Photographs of pricked sheets, made up pixel by pixel, with everything about them known.

It shares no code with the reader: projection, lens, strips and holes are worked out here anew. The
marks' cells come from the library that publishes the code (OpenCV's generateImageMarker).

How a picture comes about: every thing on the table is painted as what it reflects (linear light),
sampled several times a pixel where it matters (marks, holes); then shadow, vignetting, the lens's
blur, the sensor's noise, the sRGB curve, and JPEG.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import cv2
import numpy as np

MARK, STEP, MARKS = 28.0, 38.0, 6  # of a strip, mm, as the guide says
STRIP = np.array([[-17, -12.5], [235, -12.5], [235, 33], [-17, 33]], float)
SUB = 5  # samples a pixel along each axis, for marks and holes
LENS = 0.95  # focal lengths from the middle, beyond which a lens's polynomial says nothing


@dataclass(frozen=True)
class Camera:
    """A pinhole with a lens. turn: world to camera, (3, 3); at: where it stands, mm, z up."""

    width: int
    height: int
    focal: float
    middle: tuple[float, float]
    radial: tuple[float, float, float]
    askew: tuple[float, float]
    turn: np.ndarray
    at: np.ndarray

    def see(self, points: np.ndarray) -> np.ndarray:
        """Pixels (n, 2), centre of the first pixel at 0, 0, of world points (n, 3)."""
        ray = (np.asarray(points, float) - self.at) @ self.turn.T
        x, y = ray[:, 0] / ray[:, 2], ray[:, 1] / ray[:, 2]
        r2 = x * x + y * y
        p1, p2 = self.askew
        swell = self._swell(np.sqrt(r2))
        u = x * swell + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)
        v = y * swell + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y
        return np.column_stack([u, v]) * self.focal + np.array(self.middle)

    def _swell(self, far: np.ndarray) -> np.ndarray:
        """How many times as far out the lens puts what is seen `far`, (n,), focal lengths out.

        Beyond the picture's corners it goes straight on: the polynomial turns back there, so that
        what lies beside a picture would fold into it.
        """
        k1, k2, k3 = self.radial
        r2 = np.minimum(far, LENS) ** 2
        swell = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
        slope = 1 + LENS**2 * (3 * k1 + LENS**2 * (5 * k2 + LENS**2 * 7 * k3))
        past = far > LENS
        swell[past] = (LENS * swell[past] + slope * (far[past] - LENS)) / far[past]
        return swell


def camera(rng, *, tilt, azimuth, aim, reach, width=4000, height=3000, roll=None):
    """A hand-held telephone: `tilt` degrees off straight down, seen from `azimuth`.

    reach: mm across the picture's width at the aim.
    """
    focal = width * rng.uniform(0.70, 0.78)
    distance = reach * focal / width
    t, a = np.radians(tilt), np.radians(azimuth)
    back = np.array([np.sin(t) * np.cos(a), np.sin(t) * np.sin(a), np.cos(t)])
    forward = -back
    roll = rng.uniform(-6, 6) if roll is None else roll
    up = np.array([-np.sin(np.radians(roll)), np.cos(np.radians(roll)), 0.0])
    right = np.cross(forward, up)
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    return Camera(
        width, height, focal,
        (width / 2 + rng.normal(0, width * 0.004), height / 2 + rng.normal(0, width * 0.004)),
        (rng.uniform(-0.06, 0.10), rng.uniform(-0.12, 0.06), rng.uniform(-0.02, 0.02)),
        tuple(rng.normal(0, 0.0004, 2)),
        np.array([right, down, forward]),
        np.array([*aim, 0.0]) + distance * back,
    )  # fmt: skip


@dataclass
class Scene:
    """What lies on the table, mm. Strips: number to (angle in degrees, x, y of its origin)."""

    paper: np.ndarray
    strips: dict
    holes: np.ndarray  # (n, 2) centres
    sizes: np.ndarray  # (n,) diameters
    rims: np.ndarray  # (n,) how bright the rim is, 0 without
    corner_of: np.ndarray  # (n,) which key point a hole is a stab of, -1 for a prick of a run
    corners: np.ndarray  # (m, 2) key points, in order round the piece
    run_of: np.ndarray  # (n,) which run a prick is of; run k goes from corner k to corner k + 1
    curved: list
    kind: str = "white"
    pencil: list = field(default_factory=list)
    seed: int = 0
    lift: float = 0.0  # mm at its highest
    stretch: tuple = (1.0, 1.0)  # of what was printed: along the strip, across it
    dots: np.ndarray = field(default_factory=lambda: np.empty((0, 2)))
    light: float = 1.0
    words: int = 0  # written by hand beside pricks
    stamps: tuple = ()  # further lettering: text, place, degrees turned, mm high
    pressed: tuple = (2, 0.72)  # width of pencil lines, pixels, and the share of light they leave
    grain: float = 0.0  # by how much of itself a pencil line's darkness varies, from pixel to pixel

    def height(self, x, y):
        """How high the paper lies above the table: smooth, nothing at the paper's middle edge."""
        if not self.lift:
            return np.zeros_like(x)
        rng = np.random.default_rng(self.seed + 77)
        waves = sum(
            np.sin(x * rng.uniform(0.004, 0.012) + y * rng.uniform(-0.012, 0.012)
                   + rng.uniform(0, 6.28))
            for _ in range(3)
        )  # fmt: skip
        return self.lift * (0.5 + waves / 6.0)


REFLECT = {"white": 0.78, "brown": 0.36, "dotted": 0.74}
TINT = {"white": (0.96, 1.0, 1.0), "brown": (0.62, 0.86, 1.12), "dotted": (0.96, 1.0, 1.0)}


def photograph(scene: Scene, cam: Camera, *, blur=0.8, noise=1.0, quality=92, fancy=True,
               colour=True):  # fmt: skip
    """The photograph as JPEG bytes."""
    from written import letter, write

    rng = np.random.default_rng(scene.seed * 1000 + int(abs(cam.at[0]) * 10))
    light = _background(scene, cam, rng)
    _mats(scene, cam, light)
    if fancy:
        _drawn(scene, cam, light, letter)
    if scene.words:
        write(scene, cam, light, scene.words)
    for at in scene.dots:
        _disc(scene, cam, light, at, 0.8, 0.52)
    for nth in range(len(scene.holes)):
        _hole(scene, cam, light, nth, rng)
    for number, where in scene.strips.items():
        _strip(scene, cam, light, number, where)
    light *= _shade(cam, rng, fancy) * scene.light
    light = cv2.GaussianBlur(light, (0, 0), blur)
    sigma = np.sqrt(2e-6 + 9e-5 * np.maximum(light, 0)) * noise
    light += sigma * rng.standard_normal(light.shape, dtype=np.float32)
    return _developed(scene, light, quality, colour)


def scan(scene: Scene, dpi: float, box, *, angle=0.0, noise=1.0):
    """A flat-bed scan of `box` (x0, y0, x1, y1) turned by `angle` degrees, as a grey array."""
    scale = dpi / 25.4
    width, height = int((box[2] - box[0]) * scale), int((box[3] - box[1]) * scale)
    far = 1e7  # from so far away that it is as good as from straight above
    turn = np.array([[np.cos(np.radians(angle)), np.sin(np.radians(angle)), 0],
                     [np.sin(np.radians(angle)), -np.cos(np.radians(angle)), 0],
                     [0, 0, -1.0]])  # fmt: skip
    cam = Camera(width, height, far * scale, ((width - 1) / 2, (height - 1) / 2), (0, 0, 0),
                 (0, 0), turn,
                 np.array([(box[0] + box[2]) / 2, (box[1] + box[3]) / 2, far]))  # fmt: skip
    rng = np.random.default_rng(scene.seed + 5)
    light = np.full((height, width), REFLECT[scene.kind], np.float32)
    for nth in range(len(scene.holes)):
        _hole(scene, cam, light, nth, rng)
    for number, where in scene.strips.items():
        _strip(scene, cam, light, number, where)
    light = cv2.GaussianBlur(light, (0, 0), 0.9)
    light += 0.004 * noise * rng.standard_normal(light.shape, dtype=np.float32)
    return _encoded_curve(light)


def _lifted(scene, xy):
    xy = np.atleast_2d(xy)
    return np.column_stack([xy, scene.height(xy[:, 0], xy[:, 1])])


def _flat(xy):
    return np.column_stack([xy, np.zeros(len(xy))])


def _background(scene, cam, rng):
    grain = rng.standard_normal((cam.height // 24 + 2, cam.width // 160 + 2)).astype(np.float32)
    table = 0.20 + 0.035 * cv2.resize(grain, (cam.width, cam.height), interpolation=cv2.INTER_CUBIC)
    edge = scene.paper
    ring = np.vstack([np.linspace(edge[k], edge[(k + 1) % 4], 60, endpoint=False)
                      for k in range(4)])  # fmt: skip
    mask = np.zeros((cam.height, cam.width), np.uint8)
    cv2.fillPoly(mask, [np.round(cam.see(_lifted(scene, ring)) * 16).astype(np.int32)], 255,
                 cv2.LINE_AA, 4)  # fmt: skip
    coarse = rng.standard_normal((cam.height // 6, cam.width // 6)).astype(np.float32)
    fibre = cv2.GaussianBlur(coarse, (0, 0), 1.2)
    fibre *= {"white": 0.010, "dotted": 0.010, "brown": 0.05}[scene.kind] / fibre.std()
    paper = REFLECT[scene.kind] * (1 + cv2.resize(fibre, (cam.width, cam.height)))
    share = mask.astype(np.float32) / 255
    return (paper * share + table * (1 - share)).astype(np.float32)


def _mats(scene, cam, light):
    """The blank of every strip, white card."""
    for angle, x, y in scene.strips.values():
        sides = np.linspace(STRIP, np.roll(STRIP, -1, axis=0), 30, endpoint=False)
        ring = _placed(np.vstack(sides.transpose(1, 0, 2)), angle, x, y)  # a lens bends its edges
        mask = np.zeros(light.shape, np.uint8)
        cv2.fillPoly(mask, [np.round(cam.see(_flat(ring)) * 16).astype(np.int32)], 255,
                     cv2.LINE_AA, 4)  # fmt: skip
        part = mask > 0
        share = mask[part].astype(np.float32) / 255
        light[part] = light[part] * (1 - share) + 0.80 * share


def _placed(points, angle, x, y):
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    return np.asarray(points, float) @ np.array([[c, s], [-s, c]]) + np.array([x, y])


def _strip(scene, cam, light, number, where):
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    stretch = np.array(scene.stretch)
    for nth in range(MARKS):
        cells = cv2.aruco.generateImageMarker(dictionary, (number - 1) * MARKS + nth, 8) > 127
        low = np.array([STEP * nth, 0.0])
        _square(cam, light, cells, low, stretch, where)


def _square(cam, light, cells, low, stretch, where):
    """Paint one mark: a polynomial takes its pixels back to the strip, exact to 1e-4 mm."""
    g = np.linspace(-0.1, 1.1, 13) * MARK
    on = np.array([(a, b) for a in g for b in g]) + low
    seen = cam.see(_flat(_placed(on * stretch, *where)))
    if (seen < 4).any() or (seen > [cam.width - 5, cam.height - 5]).any():
        return
    middle = seen.mean(axis=0)
    span = np.abs(seen - middle).max()
    a, b = ((seen - middle) / span).T
    terms = np.column_stack([a**i * b**j for i in range(6) for j in range(6)])
    back, *_ = np.linalg.lstsq(terms, on - low, rcond=None)
    framed = np.pad(cells, 1, constant_values=True)

    def white(u, v):
        """Return where it is white at columns u (.., m) and rows v (.., n), as (.., n, m)."""
        powers_u, powers_v = (
            np.vander(at.ravel() / span, 6, increasing=True).reshape(*at.shape, 6)
            for at in (u - middle[0], v - middle[1])
        )
        x, y = (powers_v @ back[:, k].reshape(6, 6).T @ powers_u.swapaxes(-1, -2) for k in (0, 1))
        col, row = np.floor(x / MARK * 8).astype(int), np.floor((MARK - y) / MARK * 8).astype(int)
        return framed[np.clip(row, -1, 8) + 1, np.clip(col, -1, 8) + 1]

    (left, top), (right, low_row) = np.floor(seen.min(axis=0)), np.ceil(seen.max(axis=0))
    share = white(np.arange(left, right + 1), np.arange(top, low_row + 1)).astype(np.float32)
    near = np.ones((3, 3), np.uint8)
    row, col = np.nonzero(cv2.dilate(share, near) != cv2.erode(share, near))  # a side may cross it
    sub = (np.arange(SUB) + 0.5) / SUB - 0.5
    share[row, col] = white(left + col[:, None] + sub, top + row[:, None] + sub).mean(axis=(1, 2))
    patch = light[int(top) : int(low_row) + 1, int(left) : int(right) + 1]
    patch *= 0.05 / 0.80 + (1 - 0.05 / 0.80) * share


def _disc(scene, cam, light, at, radius, factor, rim=0.0, squash=(1.0, 0.0)):
    """Multiply what a disc covers by `factor`; with a rim, brighten a ring about it."""
    step = 0.5
    around = at + step * np.array([[0, 0], [1, 0], [-1, 0], [0, 1], [0, -1.0]])
    seen = cam.see(_lifted(scene, around))
    if (seen[0] < 15).any() or (seen[0] > [cam.width - 16, cam.height - 16]).any():
        return
    way = np.column_stack([seen[1] - seen[2], seen[3] - seen[4]]) / (2 * step)
    back = np.linalg.inv(way)
    reach = int(np.ceil(np.abs(way).sum(axis=1).max() * radius * 2.0)) + 2
    u0, v0 = np.round(seen[0]).astype(int)
    if not (reach <= u0 < cam.width - reach and reach <= v0 < cam.height - reach):
        return
    sub = (np.arange(SUB) + 0.5) / SUB - 0.5
    span = (np.arange(-reach, reach + 1)[:, None] + sub).ravel()
    uu, vv = np.meshgrid(span + u0 - seen[0, 0], span + v0 - seen[0, 1])
    x = back[0, 0] * uu + back[0, 1] * vv
    y = back[1, 0] * uu + back[1, 1] * vv
    c, s = np.cos(squash[1]), np.sin(squash[1])
    far = np.hypot((x * c + y * s) / squash[0], (y * c - x * s) * squash[0]) / radius
    value = np.where(far < 1, factor, np.where(far < 1.55, 1 + rim, 1.0))
    size = 2 * reach + 1
    share = value.reshape(size, SUB, size, SUB).mean(axis=(1, 3)).astype(np.float32)
    light[v0 - reach : v0 + reach + 1, u0 - reach : u0 + reach + 1] *= share


def _hole(scene, cam, light, nth, rng):
    dark = np.random.default_rng(scene.seed * 7 + nth)
    _disc(scene, cam, light, scene.holes[nth], scene.sizes[nth] / 2, dark.uniform(0.08, 0.35),
          scene.rims[nth], (dark.uniform(0.92, 1.08), dark.uniform(0, 3.14)))  # fmt: skip


def _line(cam, scene, light, points, width_px, factor, grain=0.0):
    mask = np.zeros(light.shape, np.uint8)
    seen = np.round(cam.see(_lifted(scene, points)) * 16).astype(np.int32)
    cv2.polylines(mask, [seen.reshape(-1, 1, 2)], False, 255, width_px, cv2.LINE_AA, 4)
    part = mask > 0
    drawn = mask[part].astype(np.float32) / 255
    if grain:
        rough = np.random.default_rng(scene.seed + 13).standard_normal(light.shape, np.float32)
        drawn *= np.clip(1.0 + grain * rough[part], 0.0, 1.6)
    light[part] *= 1 - (1 - factor) * drawn


def _drawn(scene, cam, light, letter):
    """Creases, dust, lettering and pencil: all that is no prick. The same in every photo."""
    same = np.random.default_rng(scene.seed + 31)
    low, high = scene.paper.min(axis=0), scene.paper.max(axis=0)
    for _ in range(3):
        ends = same.uniform(low, high, (2, 2))
        way = np.linspace(ends[0], ends[1], 40) + same.normal(0, 0.3, (40, 2))
        _line(cam, scene, light, way, 3, 0.93)
        _line(cam, scene, light, way + 0.5, 3, 1.05)
    for _ in range(60):
        at = same.uniform(low + 15, high - 15)
        _disc(scene, cam, light, at, same.uniform(0.12, 0.3), same.uniform(0.6, 0.9), 0.0,
              (same.uniform(0.4, 0.8), same.uniform(0, 3.14)))  # fmt: skip
    for points in scene.pencil:
        _line(cam, scene, light, points, *scene.pressed, scene.grain)
    for text in ("FRONT", "cut 2 self"):
        at = scene.corners.mean(axis=0) + same.uniform(-60, 60, 2)
        letter(scene, cam, light, text, at)
    for stamp in scene.stamps:
        letter(scene, cam, light, *stamp)


def _shade(cam, rng, fancy):
    v, u = np.mgrid[0 : cam.height : 20, 0 : cam.width : 20].astype(np.float32)
    x, y = u / cam.width - 0.5, v / cam.width - 0.5 * cam.height / cam.width
    shade = 1 / (1 + 1.1 * (x * x + y * y)) ** 2  # vignetting
    way = rng.uniform(0, 6.28)
    shade *= 1 + 0.25 * (x * np.cos(way) + y * np.sin(way))
    small = shade.astype(np.float32)
    full = cv2.resize(small, (cam.width, cam.height), interpolation=cv2.INTER_LINEAR)
    if fancy and rng.uniform() < 0.6:  # a hand's or head's shadow
        way, off = rng.uniform(0, 6.28), rng.uniform(0.12, 0.3)
        soft = rng.choice([0.004, 0.02, 0.06])
        u = np.arange(cam.width, dtype=np.float32) / cam.width - 0.5
        v = np.arange(cam.height, dtype=np.float32)[:, None] / cam.width - 0.375
        far = (u * np.float32(np.cos(way)) + v * np.float32(np.sin(way)) - off) / soft
        full *= 1 - 0.4 / (1 + np.exp(-np.clip(far, -30, 30)))
    return full


def _encoded_curve(light):
    table = np.linspace(0, 1, 4096)
    curve = np.where(table <= 0.0031308, 12.92 * table, 1.055 * table ** (1 / 2.4) - 0.055)
    levels = np.round(curve * 255).astype(np.uint8)
    return levels[np.clip(light * 4095, 0, 4095).astype(np.int16)]


def _developed(scene, light, quality, colour):
    if colour:
        image = cv2.merge([_encoded_curve(light * tint) for tint in TINT[scene.kind]])
    else:
        image = _encoded_curve(light)
    done, data = cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, quality])
    assert done
    return data.tobytes()


# --- what lies on the table


def scene(seed, *, lift=0.0, kind=None, wide=520.0, tall=340.0, strips=None, pencil=None,
          small=0.5, large=1.2, hide=0, bow=np.inf, ends=None):  # fmt: skip
    """A random piece pricked on paper, strips about it. bow: mm by which edges bend at most.

    ends: mm from each corner to the first prick; 5.5 to 11.5, if it is not given.
    """
    rng = np.random.default_rng(seed)
    corners, lines, curved = _piece(rng, wide, tall, bow)
    holes, corner_of, run_of = [], [], []
    for nth, at in enumerate(corners):
        count = int(rng.integers(3, 5))
        turn = rng.uniform(0, 6.28)
        angles = turn + np.arange(count) * 2 * np.pi / count + rng.uniform(-0.25, 0.25, count)
        stabs = rng.uniform(0.9, 1.5) * np.column_stack([np.cos(angles), np.sin(angles)])
        holes += list(at + stabs - stabs.mean(axis=0))
        corner_of += [nth] * count
        run_of += [-1] * count
    for nth, line in enumerate(lines):
        spacing = rng.uniform(11, 24)
        along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        count = max(int((along[-1] - 14) / spacing), 2)
        at = np.linspace(7 + rng.uniform(0, 3), along[-1] - 7 - rng.uniform(0, 3), count)
        at += rng.uniform(-1.5, 1.5, count)
        if ends is not None:
            at[[0, -1]] = ends, along[-1] - ends
        pricks = np.column_stack([np.interp(at, along, line[:, k]) for k in (0, 1)])
        holes += list(pricks + rng.normal(0, 0.12, pricks.shape))
        corner_of += [-1] * count
        run_of += [nth] * count
    holes = np.array(holes)
    kind = kind or ("white", "brown", "dotted")[seed % 3]
    edge = np.array([wide, tall]) / 2 + 45
    paper = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * edge
    sizes = rng.uniform(small, large, len(holes))
    rims = np.where(rng.uniform(size=len(holes)) < 0.35, rng.uniform(0.05, 0.25, len(holes)), 0)
    pencil = rng.uniform() < 0.5 if pencil is None else pencil
    strips = _strips(rng, edge, hide) if strips is None else strips
    made = Scene(paper, strips, holes, sizes, rims, np.array(corner_of), corners,
                 np.array(run_of), curved, kind,
                 [line + rng.normal(0, 0.15, 2) for line in lines] if pencil else [],
                 seed, lift)  # fmt: skip
    if kind == "dotted":
        x, y = np.meshgrid(np.arange(-edge[0] + 12, edge[0] - 8, 25.4),
                           np.arange(-edge[1] + 12, edge[1] - 8, 25.4))  # fmt: skip
        made = replace(made, dots=np.column_stack([x.ravel(), y.ravel()]))
    return made


def _piece(rng, wide, tall, most):
    """Four to six corners round an ellipse, joined by straights and bent curves."""
    count = int(rng.integers(4, 7))
    angles = np.sort(np.linspace(0, 2 * np.pi, count, endpoint=False)
                     + rng.uniform(-0.25, 0.25, count))  # fmt: skip
    reach = rng.uniform(0.8, 1.0, count)
    corners = np.column_stack([np.cos(angles) * wide / 2, np.sin(angles) * tall / 2])
    corners *= reach[:, None]
    lines, curved = [], []
    for nth in range(count):
        a, b = corners[nth], corners[(nth + 1) % count]
        bent = rng.uniform() < 0.45
        t = np.linspace(0, 1, 200)[:, None]
        chord = np.hypot(*(b - a))
        normal = np.array([a[1] - b[1], b[0] - a[0]]) / chord
        bow = rng.choice([-1, 1]) * min(rng.uniform(0.06, 0.16) * chord, most) * bent
        skew = rng.uniform(-0.3, 0.3)
        shape = 4 * t * (1 - t) * (1 + skew * (2 * t - 1))
        lines.append(a + (b - a) * t + normal * bow * shape)
        curved.append(bool(bent))
    return corners, lines, curved


def _strips(rng, edge, hide):
    """Two along each long side, one along each short one; turned any way, none overlapping."""
    wide, tall = edge
    out = 42.0
    spots = [(-wide / 2, tall + out, 0), (wide / 2, tall + out, 0), (-wide / 2, -tall - out, 0),
             (wide / 2, -tall - out, 0), (-wide - out, 0, 90), (wide + out, 0, 90)]  # fmt: skip
    numbers = rng.permutation(12)[: len(spots)] + 1
    strips = {}
    for number, (x, y, way) in list(zip(numbers, spots, strict=True))[hide:]:
        angle = way + rng.uniform(-5, 5) + rng.choice([0, 180])
        c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
        middle = np.array([109.0, 11.0])
        at = np.array([x, y]) + rng.uniform(-6, 6, 2)
        at -= middle @ np.array([[c, s], [-s, c]])
        strips[int(number)] = (float(angle), float(at[0]), float(at[1]))
    return strips
