"""Drawings for the page on taking the photo: what to stand like, what to measure, what to avoid."""

from __future__ import annotations

from html import escape

WIDE, HIGH = 320, 200
INK, WOOD, FLOOR, BAD = "#10140f", "#d9b98a", "#cfcbbf", "#8a2d12"
BAY = 32


def _frame(left: float, right: float, top: float, bottom: float, skew: float = 0.0) -> str:
    """A framed wall seen straight on, or from the side when `skew` is not 0 (its right end farther away)."""
    count = int((right - left) // BAY)
    parts = []
    for number in range(count + 1):
        share = number / count
        x = left + (right - left) * (share ** (1 / (1 + skew)))
        parts.append(_line(x, top + 22 * skew * share, x, bottom - 22 * skew * share, WOOD, 7))
    parts.append(_line(left - 3, top, right + 3, top + 22 * skew, WOOD, 8))
    parts.append(_line(left - 3, bottom, right + 3, bottom - 22 * skew, WOOD, 8))
    return "".join(parts)


def _line(x1: float, y1: float, x2: float, y2: float, colour: str, width: float, dash: str = "") -> str:
    more = f" stroke-dasharray='{dash}'" if dash else ""
    return (
        f"<line x1='{x1:.1f}' y1='{y1:.1f}' x2='{x2:.1f}' y2='{y2:.1f}' stroke='{colour}' "
        f"stroke-width='{width}'{more}/>"
    )


def _text(x: float, y: float, text: str, anchor: str = "middle") -> str:
    return (
        f"<text x='{x}' y='{y}' font-family='sans-serif' font-size='13' font-weight='600' fill='{INK}' "
        f"text-anchor='{anchor}'>{escape(text)}</text>"
    )


def _sheet(inside: str) -> str:
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {WIDE} {HIGH}'>"
        f"<rect width='{WIDE}' height='{HIGH}' fill='#ffffff'/>{inside}</svg>"
    )


def stand_opposite(wall: str, you: str) -> str:
    """From above: the wall, and where to stand."""
    inside = f"<rect x='30' y='24' width='260' height='12' fill='{WOOD}' stroke='{INK}'/>"
    inside += _text(160, 18, wall)
    inside += _line(160, 150, 34, 40, INK, 1.5, "5 4") + _line(160, 150, 286, 40, INK, 1.5, "5 4")
    inside += _line(160, 140, 160, 42, INK, 2)
    inside += f"<path d='M155,50 L160,40 L165,50z' fill='{INK}'/>"
    inside += f"<circle cx='160' cy='158' r='11' fill='{INK}'/>" + _text(160, 190, you)
    return _sheet(inside)


def whole_wall(plates: str) -> str:
    """In the picture: both ends, floor and top plate, with air around."""
    inside = (
        f"<rect x='8' y='8' width='304' height='184' rx='10' fill='{FLOOR}' stroke='{INK}' stroke-width='3'/>"
    )
    inside += _frame(44, 276, 44, 150)
    for x, y in ((44, 44), (276, 44), (44, 150), (276, 150)):
        inside += f"<circle cx='{x}' cy='{y}' r='12' fill='none' stroke='{INK}' stroke-width='3'/>"
    inside += _text(160, 180, plates)
    return _sheet(inside)


def known_length(length: str) -> str:
    """A tape between two marks on the faces of the studs, as long as possible."""
    inside = _frame(30, 290, 30, 150)
    inside += _line(30, 92, 290, 92, INK, 8) + _line(30, 92, 290, 92, "#ffe27a", 5)
    for x in (30, 290):
        inside += f"<circle cx='{x}' cy='92' r='9' fill='none' stroke='{INK}' stroke-width='3'/>"
    inside += _text(160, 182, length)
    return _sheet(inside)


def not_from_the_side(no: str) -> str:
    """Seen from the side the far studs crowd together."""
    inside = _frame(30, 290, 24, 160, skew=1.1)
    inside += _line(20, 20, 300, 165, BAD, 6) + _line(20, 165, 300, 20, BAD, 6)
    inside += _text(160, 190, no)
    return _sheet(inside)
