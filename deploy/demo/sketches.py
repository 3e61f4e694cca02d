"""Sketches that stand in for photographs in the invented city: plain line drawings, each saying that it is one."""

import io
import math
from collections.abc import Mapping
from typing import Any, Final

from PIL import Image, ImageDraw, ImageFont

_SIZE: Final = (960, 720)
_PAPER, _INK, _WOOD, _HOLLOW, _STONE = "#f6f3ea", "#39342c", "#cdb28a", "#5d4630", "#b9b9b4"
_LEAF, _FUNGUS, _ROAD = "#8fa877", "#a5562f", "#8c8f93"
_TEXT_AT: Final = (24, 672)


def _sheet(words: str) -> tuple[Image.Image, ImageDraw.ImageDraw]:
    image = Image.new("RGB", _SIZE, _PAPER)
    pen = ImageDraw.Draw(image)
    pen.rectangle((8, 8, _SIZE[0] - 9, _SIZE[1] - 9), outline=_INK, width=2)
    pen.text(_TEXT_AT, f"Sketch, not a photograph: {words}", fill=_INK, font=ImageFont.load_default(26))
    return image, pen


def _png(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "PNG", optimize=True)
    return out.getvalue()


def _kerb_and_road(pen: ImageDraw.ImageDraw, ground: int) -> None:
    pen.rectangle((10, ground, 600, 655), fill="#d8cfb8")
    pen.rectangle((600, ground - 18, 640, 655), fill=_STONE, outline=_INK, width=2)
    pen.rectangle((640, ground + 22, _SIZE[0] - 10, 655), fill=_ROAD)
    pen.line((10, ground, 600, ground), fill=_INK, width=3)


def roadside() -> bytes:
    """The whole tree between footway and road, as PNG."""
    image, pen = _sheet("the lime between footway and road")
    _kerb_and_road(pen, 590)
    pen.polygon([(455, 590), (478, 330), (522, 330), (548, 590)], fill=_WOOD, outline=_INK)
    for x, y, r in ((500, 210, 170), (400, 260, 110), (600, 260, 115), (500, 110, 95)):
        pen.ellipse((x - r, y - r, x + r, y + r), fill=_LEAF, outline=_INK, width=2)
    pen.ellipse((512, 545, 540, 588), fill=_HOLLOW, outline=_INK)
    for x in (120, 170):  # people on the footway
        pen.ellipse((x, 490, x + 22, 512), outline=_INK, width=3)
        pen.line((x + 11, 512, x + 11, 562, x, 590), fill=_INK, width=3)
    return _png(image)


def collar() -> bytes:
    """The cavity at the collar beside the kerb, a fruiting body below it, as PNG."""
    image, pen = _sheet("cavity and fruiting bodies at the collar")
    _kerb_and_road(pen, 520)
    pen.polygon(
        [(150, 560), (235, 430), (265, 20), (520, 20), (545, 420), (600, 540), (470, 560)], fill=_WOOD, outline=_INK
    )
    pen.ellipse((440, 290, 540, 500), fill=_HOLLOW, outline=_INK, width=4)
    for x, y in ((330, 500), (405, 520)):
        pen.pieslice((x, y - 40, x + 100, y + 40), 180, 360, fill=_FUNGUS, outline=_INK, width=3)
    for x in (300, 350, 395):
        pen.line((x, 60, x - 15, 240, x + 5, 420), fill="#a98f68", width=3)
    return _png(image)


def seam() -> bytes:
    """The closed seam above the cavity, as PNG."""
    image, pen = _sheet("closed seam above the cavity, about 1.2 m long")
    pen.polygon([(250, 655), (290, 20), (690, 20), (730, 655)], fill=_WOOD, outline=_INK)
    line = [(500 + 14 * math.sin(y / 40), y) for y in range(60, 560, 10)]
    pen.line([(x - 12, y) for x, y in line], fill="#8d7248", width=8)
    pen.line([(x + 12, y) for x, y in line], fill="#8d7248", width=8)
    pen.line(line, fill=_HOLLOW, width=5)
    pen.ellipse((450, 575, 570, 700), fill=_HOLLOW, outline=_INK, width=3)
    pen.rectangle((10, 656, _SIZE[0] - 10, 710), fill=_PAPER)
    pen.text(
        _TEXT_AT, "Sketch, not a photograph: closed seam above the cavity", fill=_INK, font=ImageFont.load_default(26)
    )
    return _png(image)


def face(cut: Mapping[str, Any], words: str) -> bytes:
    """The face of a cut as it was measured (round hollows by diameter, azimuth and offset), north up, as PNG."""
    image, pen = _sheet(words)
    x, y, scale = 480.0, 340.0, 600.0 / float(cut["diameter_cm"])
    _disc(pen, x, y, 300.0, "#8a7350")
    _disc(pen, x, y, 300.0 - scale * float(cut.get("bark_cm", 0.0)), _WOOD)
    for kind, colour in (("decay", "#94744c"), ("cavities", _HOLLOW)):
        for one in cut.get(kind, ()):
            east, north = _toward(float(one["azimuth_deg"]), float(one["offset_cm"]) * scale)
            _disc(pen, x + east, y - north, scale * float(one["diameter_cm"]) / 2, colour)
    for one in cut.get("cracks", ()):
        outer = 300.0 - scale * (float(cut.get("bark_cm", 0.0)) + float(one["gap_to_edge_cm"]))
        ends = [_toward(float(one["azimuth_deg"]), reach) for reach in (outer, outer - scale * float(one["run_cm"]))]
        pen.line([(x + east, y - north) for east, north in ends], fill=_INK, width=6)
    pen.text((470, 14), "N", fill=_INK, font=ImageFont.load_default(24))
    return _png(image)


def _toward(azimuth_deg: float, reach: float) -> tuple[float, float]:
    return reach * math.sin(math.radians(azimuth_deg)), reach * math.cos(math.radians(azimuth_deg))


def _disc(pen: ImageDraw.ImageDraw, x: float, y: float, radius: float, colour: str) -> None:
    pen.ellipse((x - radius, y - radius, x + radius, y + radius), fill=colour, outline=_INK, width=2)
