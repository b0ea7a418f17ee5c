"""The app in the local network: ``seamwright app --share`` runs this module with the gate before the app."""

from __future__ import annotations

import sys
from pathlib import Path

import streamlit as st
from starlette.middleware import Middleware

from ui.launch import settings
from ui.sharing import Share, start_share
from ui.sharing.gate import Gate
from ui.sharing.share import qr_terminal
from ui.sharing.too_deep import TooDeep
from ui.words import Words, language_of

EVERY_INTERFACE = "0.0.0.0"


def main(port: int, language: str = "en") -> None:
    """Serve until stopped."""
    share = start_share(port)
    app = st.App(
        Path(__file__).with_name("app.py"),
        middleware=[Middleware(Gate, door=share.door, hosts=share.hosts()), Middleware(TooDeep)],
    )
    print(way_in(share, Words(language_of(language))), flush=True)
    config = settings(port, headless=True, address=EVERY_INTERFACE)
    app.run(config={**config, "browser.serverAddress": share.address})


def way_in(share: Share, words: Words) -> str:
    """What the terminal shows: picture, address, code."""
    lines = (
        qr_terminal(share.url_with_code()),
        words("share.terminal", url=share.url, code=share.door.code, port=share.port),
        words("share.caution"),
    )
    return "\n".join(lines)


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else "en")
