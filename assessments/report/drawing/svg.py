"""The few SVG elements that the pictures are made of, as text; every text is escaped, every number short."""

from collections.abc import Iterable, Sequence
from typing import Final
from xml.sax.saxutils import escape, quoteattr

# Greys apart by at least a quarter of the range, so that a grey print tells them from each other.
INK: Final = "#1a1a1a"
SOFT: Final = "#595959"
WOOD: Final = "#d8c7a6"
VOID: Final = "#ffffff"
FAINT: Final = "#8c8c8c"
# An attribute, not a style: a page whose policy forbids inline styles shows it all the same.
FONT: Final = "system-ui,'DejaVu Sans',sans-serif"


def figure(value: float) -> str:
    """A number with at most two decimals.

    >>> figure(1.50001), figure(-0.001)
    ('1.5', '0')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _attributes(given: dict[str, object]) -> str:
    pairs = ((name.rstrip("_").replace("_", "-"), value) for name, value in given.items() if value is not None)
    return "".join(f" {n}={quoteattr(figure(v) if isinstance(v, float) else str(v))}" for n, v in pairs)


def tag(name: str, *inside: str, **attributes: object) -> str:
    """An element; `_` in an attribute's name becomes `-`, a trailing one is dropped.

    >>> tag("line", x1=0.0, stroke_width=2)
    '<line x1="0" stroke-width="2"/>'
    """
    body = "".join(inside)
    return f"<{name}{_attributes(attributes)}>{body}</{name}>" if body else f"<{name}{_attributes(attributes)}/>"


def text(words: str, x: float, y: float, size: float = 12, **attributes: object) -> str:
    """Words at a place.

    >>> text("a < b", 1.0, 2.0)
    '<text x="1" y="2" font-size="12">a &lt; b</text>'
    """
    return tag("text", escape(words), x=float(x), y=float(y), font_size=figure(size), **attributes)


def line(a: Sequence[float], b: Sequence[float], **attributes: object) -> str:
    """A straight line between two points."""
    return tag("line", x1=float(a[0]), y1=float(a[1]), x2=float(b[0]), y2=float(b[1]), **attributes)


def path(rings: Iterable[Iterable[Sequence[float]]], *, closed: bool = True, **attributes: object) -> str:
    """One path of several rings; with `fill_rule="evenodd"` inner rings are holes.

    >>> path([[(0, 0), (1, 0), (1, 1)]])
    '<path d="M0 0L1 0L1 1Z"/>'
    """
    end = "Z" if closed else ""
    d = "".join("M" + "L".join(f"{figure(p[0])} {figure(p[1])}" for p in ring) + end for ring in rings)
    return tag("path", d=d, **attributes)


def hatch(name: str) -> str:
    """A pattern of slanting lines: decay, told from wood without colour."""
    stroke = line((0, 0), (0, 7), stroke=SOFT, stroke_width=1.6)
    ground = tag("rect", width=7, height=7, fill="#f4f4f4")
    return tag(
        "pattern", ground, stroke, id=name, width=7, height=7, patternUnits="userSpaceOnUse",
        patternTransform="rotate(45)",
    )  # fmt: skip


def scale_bar(x: float, y: float, per_unit: float, longest: float, unit: str) -> str:
    """A bar of a round length of at most `longest` pixels, with its length in words under it."""
    length = max((n * 10.0**e for e in range(-2, 4) for n in (1, 2, 5) if n * 10.0**e * per_unit <= longest), default=1)
    far = x + length * per_unit
    ends = "".join(line((at, y - 4), (at, y + 4), stroke=INK, stroke_width=1.5) for at in (x, far))
    bar = line((x, y), (far, y), stroke=INK, stroke_width=2.5)
    return bar + ends + text(f"{figure(length)} {unit}", (x + far) / 2, y + 18, text_anchor="middle", fill=INK)


def north_arrow(x: float, y: float) -> str:
    """An arrow that points up, with N over it."""
    arrow = path([[(x, y - 16), (x + 6, y + 6), (x, y + 1), (x - 6, y + 6)]], fill=INK)
    return arrow + text("N", x, y - 20, 13, text_anchor="middle", fill=INK, font_weight="bold")


def picture(name: str, title: str, description: str, size: tuple[float, float], *inside: str) -> str:
    """A whole picture with its text alternatives. `name` makes its ids unique where several share a page."""
    width, height = size
    return tag(
        "svg",
        tag("title", escape(title), id=f"{name}-title"),
        tag("desc", escape(description), id=f"{name}-desc"),
        tag("rect", width=figure(width), height=figure(height), fill="#ffffff"),
        *inside,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {figure(width)} {figure(height)}",
        role="img",
        aria_labelledby=f"{name}-title",
        aria_describedby=f"{name}-desc",
        font_family=FONT,
    )
