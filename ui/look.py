# ruff: noqa: E501 (one sentence or rule per line reads best)
"""The few styles the pages share. Colours come from the theme, so light and dark both follow it."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from html import escape

import streamlit as st

RULES = """
  .block-container { padding: 0.6rem 0.9rem 4rem; max-width: 1280px; }
  header[data-testid="stHeader"] { height: 0; min-height: 0; background: none; }
  h1 { font-size: 1.5rem !important; padding: 0.2rem 0 0.5rem !important; }
  h2 { font-size: 1.35rem !important; padding: 0.2rem 0 0.5rem !important; }
  h3 { font-size: 1.15rem !important; padding: 0.2rem 0 0.4rem !important; }
  .stButton button, .stFormSubmitButton button, .stDownloadButton button,
  [data-testid="stBaseButton-segmented_control"], [data-testid="stBaseButton-segmented_controlActive"],
  [data-testid="stBaseButton-pills"], [data-testid="stBaseButton-pillsActive"],
  [data-testid="stPageLink-NavLink"], [data-testid="stPopover"] button, [data-testid="stFileUploader"] button,
  [data-testid="stExpander"] summary { min-height: 44px !important; }
  [data-testid="stPageLink-NavLink"] { align-items: center; justify-content: center; min-width: 44px; }
  .st-key-stages { border-bottom: 2px solid color-mix(in srgb, currentColor 30%, transparent); }
  [data-testid="stSegmentedControl"] button, [data-testid="stPills"] button, [data-testid="stButtonGroup"] button,
  [role="radiogroup"] label { min-height: 44px; min-width: 44px; }
  [data-testid="stButtonGroup"] div { flex-wrap: wrap; }
  /* our own work says what it does and can be stopped; a second Stop beside it would only confuse */
  [data-testid="stStatusWidget"] { display: none; }
  img.small { width: 72px; height: 54px; object-fit: cover; border-radius: 4px; display: block; }
  [data-testid="stMainMenu"], [data-testid="stElementToolbar"] { display: none; }
  /* what is being worked on is said at the foot of the window: in the page it would push the photo
     away under the finger that is dragging on it */
  [class*="st-key-work-"] { position: fixed; left: 12px; right: 12px; bottom: 12px; z-index: 1001; max-width: 420px;
    background: Canvas; border-width: 3px; width: auto !important; }
  div[data-testid="stElementContainer"]:has([data-testid="stSpinner"]) {
    position: fixed; left: 12px; bottom: 12px; z-index: 1000; width: auto; padding: 8px 14px; border-radius: 6px;
    background: Canvas; border: 2px solid currentColor; }
  ol.steps { display: flex; flex-wrap: wrap; gap: 4px 14px; margin: 0 !important; padding: 0 !important;
    list-style: none; font-size: 0.95rem; }
  ol.steps li { margin: 0 !important; padding: 0 !important; }
  .steps .open { font-weight: 700; text-decoration: underline 2px; text-underline-offset: 4px; }
  [data-testid="stAlert"] [data-testid="stMarkdownContainer"], [data-testid="stAlert"] li { color: CanvasText; }
  /* small print is read in the sun too */
  [data-testid="stCaptionContainer"] { opacity: 1 !important; }
  [data-testid="stCaptionContainer"], [data-testid="stCaptionContainer"] * { color: color-mix(in srgb, CanvasText 82%, Canvas) !important; }
  [data-testid="stBaseButton-tertiary"] p { text-decoration: underline; text-underline-offset: 4px; }
  [data-testid="stAlertContainer"] { border-left: 8px solid currentColor; }
  /* why a file was refused: Streamlit says it to screen readers only */
  [data-testid="stFileChip"][aria-invalid="true"] { flex-wrap: wrap; height: auto; }
  [data-testid="stFileChip"][aria-invalid="true"] > [role="alert"] { position: static; clip: auto; clip-path: none;
    width: auto; height: auto; margin: 0; padding: 4px 0 0; overflow: visible; white-space: normal; flex-basis: 100%; }
  .st-key-page-manners { position: absolute; width: 1px !important; height: 1px; overflow: hidden; }
  .st-key-page-manners * { width: 1px !important; }
  [data-testid="stNumberInput"] button, [data-testid="stSelectbox"] button,
  [data-testid="stMultiSelect"] button { min-width: 44px !important; min-height: 44px !important; }
  @media (prefers-color-scheme: dark) { /* the theme follows the system; white on the bright green is too faint */
    [data-testid^="stBaseButton-primary"], [data-testid^="stBaseButton-primary"] p,
    [data-tag], [data-tag] * { color: #10140f !important; }
    img.drawing { filter: brightness(0.8); } } /* a white sheet would glare at night */
  table.plain { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
  table.plain th { text-align: left; font-weight: 600; padding: 6px 8px 6px 0; border-bottom: 2px solid currentColor; }
  table.plain td { padding: 7px 8px 7px 0; border-bottom: 1px solid color-mix(in srgb, currentColor 25%, transparent); vertical-align: top; }
  table.plain td.count { font-size: 1.15rem; font-weight: 700; white-space: nowrap; }
  table.plain td.fixed { white-space: nowrap; }
  table.plain tr.look td { font-weight: 700; }
  pre.block { white-space: pre-wrap; overflow-wrap: anywhere; margin: 0; padding: 10px 12px; font-size: 1.05rem;
    font-family: inherit; border: 2px solid color-mix(in srgb, currentColor 40%, transparent); border-radius: 8px; }
  ul.caution { margin: 0 !important; padding: 10px 14px 10px 34px !important; border: 3px solid currentColor;
    border-left-width: 12px; border-radius: 6px; font-weight: 600; }
  ul.caution li { margin: 2px 0 !important; }
  img.wide { width: 100%; max-width: 760px; display: block; border-radius: 6px; opacity: 0.75; }
  img.square { width: 240px; height: 240px; display: block; background: #fff; image-rendering: pixelated; }
  .st-key-next-thing button { justify-content: flex-start; text-align: left; font-weight: 700; }
  .st-key-next-thing button * { white-space: normal !important; overflow: visible !important; }
  img.drawing { width: 100%; max-width: 760px; display: block; background: #fff; }
"""


def put_styles() -> None:
    """Once per run, at the top of the page: for the first paint.

    The page now and then loses an element that is nothing but styles; `ui.page_manners` keeps the same
    rules in the document's head, where they stay.
    """
    st.html(f"<style>{RULES}</style>")


def table(
    head: tuple[str, ...],
    rows: Sequence[tuple[str, ...]],
    *,
    classes: tuple[str, ...] = (),
    look: frozenset[int] = frozenset(),
) -> None:
    """A plain table that wraps on a phone; `look` holds the rows that need the user's eye."""
    cells = "".join(f"<th scope='col'>{escape(text)}</th>" for text in head)
    body = ""
    for number, row in enumerate(rows):
        marked = " class='look'" if number in look else ""
        body += f"<tr{marked}>"
        for column, text in enumerate(row):
            kind = classes[column] if column < len(classes) else ""
            body += f"<td class='{kind}'>{escape(text)}</td>"
        body += "</tr>"
    st.html(f"<table class='plain'><thead><tr>{cells}</tr></thead><tbody>{body}</tbody></table>")


def small_picture(address: str, alt: str) -> None:
    """A small picture for a list, with its words for who cannot see it."""
    st.html(f"<img class='small' src='{escape(address, quote=True)}' alt='{escape(alt, quote=True)}'>")


def wide_picture(address: str, alt: str) -> None:
    """A picture as wide as the page, shown while its reading is waited for."""
    st.html(f"<img class='wide' src='{escape(address, quote=True)}' alt='{escape(alt, quote=True)}'>")


def caution(sentences: Sequence[str]) -> None:
    """What can hurt somebody, in the same dress everywhere: dark on light, framed, not by colour alone."""
    rows = "".join(f"<li>{escape(sentence)}</li>" for sentence in sentences)
    st.html(f"<div role='note'><ul class='caution'>{rows}</ul></div>")


def block(text: str) -> None:
    """Lines to copy or to read out, as they are."""
    st.html(f"<pre class='block'>{escape(text)}</pre>")


def drawing(svg: str, alt: str) -> None:
    """An SVG drawing of ours, as wide as the page allows."""
    address = "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()
    st.html(f"<img class='drawing' src='{address}' alt='{escape(alt, quote=True)}'>")


def square(svg: str, alt: str) -> None:
    """A square SVG picture of ours, such as one to scan, at a size that a phone reads off a screen."""
    address = "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()
    st.html(f"<img class='square' src='{address}' alt='{escape(alt, quote=True)}'>")


def steps(items: list[tuple[str, str, bool]]) -> None:
    """Where in the job one is: (name, state, still open) in order; the open ones are underlined."""
    rows = ""
    for name, state, is_open in items:
        sign = "○" if is_open else "●"
        rows += f"<li class='{'open' if is_open else 'settled'}'>{sign} {escape(name)}: {escape(state)}</li>"
    st.html(f"<ol class='steps'>{rows}</ol>")


def plain(text: str) -> str:
    """Words of the user's that are shown as they are, not as markup; addresses in them become no links.

    A word joiner (U+2060, of no width) keeps an address from being found: escapes alone do not.
    """
    for sign in ("://", "www.", "@"):
        text = text.replace(sign, f"{sign[:-1]}\u2060{sign[-1]}" if sign != "@" else "@\u2060")
    return "".join("\\" + c if c in "\\`*_{}[]()#+-.!|<>$~:" else c for c in text)
