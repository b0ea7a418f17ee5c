"""The app in the local network: who may come in, and how a phone is shown the way."""

from ui.sharing.doorkeeper import Doorkeeper
from ui.sharing.share import Share, share_at_hand, start_share

__all__ = ["Doorkeeper", "Share", "share_at_hand", "start_share"]
