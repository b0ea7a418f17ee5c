"""The one page a stranger sees: it asks for the code, and holds nothing of the job."""

from __future__ import annotations

import secrets
from html import escape

from ui.words import Words, language_of

STYLE = """
body { font-family: system-ui, sans-serif; background: #faf8f3; color: #10140f; margin: 0; padding: 24px 16px;
  font-size: 18px; line-height: 1.4; }
main { max-width: 420px; margin: 0 auto; }
h1 { font-size: 24px; }
label { display: block; font-weight: 600; margin-bottom: 6px; }
input { font: inherit; font-size: 24px; letter-spacing: 0.12em; width: 100%; box-sizing: border-box;
  min-height: 52px; padding: 4px 12px; border: 2px solid #6d6857; border-radius: 6px;
  text-transform: uppercase; color: inherit; background: #fff; }
button { font: inherit; font-weight: 700; min-height: 52px; width: 100%; margin-top: 12px; border: 0;
  border-radius: 6px; background: #0a5c4a; color: #fff; }
p.wrong { font-weight: 700; border-left: 8px solid currentColor; padding-left: 10px; }
@media (prefers-color-scheme: dark) {
  body { background: #171b17; color: #f1efe6; }
  input { background: #262c26; border-color: #9aa190; }
  button { background: #5fd3ae; color: #10140f; }
}
"""
# The picture's address carries the code after "#", which no browser sends to a server.
SCRIPT = """
const code = new URLSearchParams(location.hash.slice(1)).get("code");
if (code) {
  history.replaceState(null, "", location.pathname + location.search);
  document.querySelector("input[name=code]").value = code;
  document.querySelector("form").submit();
}
"""


def code_page(wanted: str, reason: str, accepted_languages: str) -> tuple[str, str]:
    """The page as HTML, and the content security policy to send with it.

    Parameters
    ----------
    wanted : str
        The path to go on to once inside.
    reason : str
        "" at first, "wrong" or "wait" after a try.
    accepted_languages : str
        The browser's ``Accept-Language``.
    """
    language = language_of(accepted_languages.split(",")[0].split(";")[0])
    words = Words(language)
    nonce = secrets.token_urlsafe(16)
    said = f"<p class='wrong' role='alert'>{escape(words(f'share.{reason}'))}</p>" if reason else ""
    script = "" if reason else f"<script nonce='{nonce}'>{SCRIPT}</script>"
    text = (
        f"<!doctype html><html lang='{language}'><head><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width, initial-scale=1'>"
        f"<title>Seamwright</title><style nonce='{nonce}'>{STYLE}</style></head><body><main>"
        f"<h1>{escape(words('share.page_title'))}</h1><p>{escape(words('share.page_how'))}</p>{said}"
        f"<form method='post' action='/enter'><label for='code'>{escape(words('share.code'))}</label>"
        "<input id='code' name='code' autocomplete='one-time-code' autocapitalize='characters' "
        "spellcheck='false' maxlength='20' required autofocus>"
        f"<input type='hidden' name='wanted' value='{escape(wanted, quote=True)}'>"
        f"<button>{escape(words('share.enter'))}</button></form></main>{script}</body></html>"
    )
    policy = (
        f"default-src 'none'; style-src 'nonce-{nonce}'; script-src 'nonce-{nonce}'; "
        "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    )
    return text, policy
