"""A wall with the boards at its foot, drawn as SVG: doors, windows, ways kept free, stacks with numbers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape

from layout.framing import Surface
from layout.lengths import format_length
from layout.stack_types import PlaceWall, Stack

__all__ = ["stacks_svg"]

WIDTH_PX = 720.0
SIDE_PX = 20.0
WALL_PX = 150.0


def stacks_svg(
    surface: Surface, wall: PlaceWall, stacks: Sequence[Stack], style: str = "feet_inches", label: str = ""
) -> str:
    """Picture of one wall seen from the room, with its stacks; black on white, so that it prints.

    `label` says what the picture shows, for who cannot see it.
    """
    scale = (WIDTH_PX - 2 * SIDE_PX) / wall.length_in
    tall = WALL_PX / max(surface.height_in, 1.0)
    floor = 20.0 + WALL_PX

    def x(at_in: float) -> float:
        return SIDE_PX + at_in * scale

    def y(at_in: float) -> float:
        return floor - at_in * tall

    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH_PX:.0f} {floor + 50:.0f}" '
        f'width="100%" role="img" aria-label="{escape(label or wall.id, quote=True)}" '
        'font-family="sans-serif" style="background:#fff">',
        '<defs><pattern id="way" width="8" height="8" patternTransform="rotate(45)" '
        'patternUnits="userSpaceOnUse"><line x1="0" y1="0" x2="0" y2="8" stroke="#555" '
        'stroke-width="2"/></pattern></defs>',
        f'<rect x="{x(0):.1f}" y="20" width="{wall.length_in * scale:.1f}" height="{WALL_PX}" '
        'fill="#fff" stroke="#222" stroke-width="2"/>',
    ]
    for member in surface.members:
        parts.append(
            f'<line x1="{x(member.centre_in):.1f}" y1="20" x2="{x(member.centre_in):.1f}" y2="{floor}" '
            'stroke="#bbb" stroke-width="2"/>'
        )
    for left, right in wall.blocked:
        left, right = max(0.0, left), min(wall.length_in, right)
        parts.append(
            f'<rect x="{x(left):.1f}" y="{floor - 14}" width="{max(0.0, right - left) * scale:.1f}" '
            'height="28" fill="url(#way)" stroke="none"/>'
        )
    for opening in surface.openings:
        parts.append(
            f'<rect x="{x(opening.left_in):.1f}" y="{y(opening.top_in):.1f}" '
            f'width="{(opening.right_in - opening.left_in) * scale:.1f}" '
            f'height="{(opening.top_in - opening.bottom_in) * tall:.1f}" fill="#e8e8e8" stroke="#222"/>'
        )
    for stack in stacks:
        parts += _stack(stack, x, floor, tall, scale, style)
    parts.append(
        f'<line x1="0" y1="{floor}" x2="{WIDTH_PX}" y2="{floor}" stroke="#222" stroke-width="3"/></svg>'
    )
    return "".join(parts)


def _stack(
    stack: Stack, x: Callable[[float], float], floor: float, tall: float, scale: float, style: str
) -> list[str]:
    high = max(lot.width_in for lot in stack.lots) if stack.standing == "edge" else 12.0
    top = floor - high * tall
    middle = x(stack.left_in + stack.length_in / 2)
    return [
        f'<rect x="{x(stack.left_in):.1f}" y="{top:.1f}" width="{stack.length_in * scale:.1f}" '
        f'height="{high * tall:.1f}" fill="#d9d2c0" stroke="#000" stroke-width="3"/>',
        f'<circle cx="{middle:.1f}" cy="{top - 4:.1f}" r="17" fill="#fff" stroke="#000" stroke-width="3"/>',
        f'<text x="{middle:.1f}" y="{top + 3:.1f}" text-anchor="middle" font-size="20" '
        f'font-weight="bold" fill="#000">{stack.number}</text>',
        f'<text x="{x(stack.left_in):.1f}" y="{floor + 36:.1f}" font-size="20" fill="#000">'
        f"|← {escape(format_length(stack.left_in, style))}</text>",
    ]
