"""Run the project's small networks on the processor."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import onnxruntime
from numpy.typing import NDArray

onnxruntime.disable_telemetry_events()  # its builds for Windows would tell the system of their use

_loading = threading.Lock()
_sessions: dict[Path, Any] = {}


def answer(weights: Path, asked: NDArray[np.float32]) -> NDArray[np.float32] | None:
    """What the network of that file says to `asked`, whatever shapes the two have.

    None when the file is missing or cannot be read: the caller goes on without this cue. The same
    question always gets the same answer, from any thread.
    """
    with _loading:
        session = _sessions.get(weights) or _opened(weights)
        if session is None:
            return None
        _sessions[weights] = session
    return np.asarray(session.run(None, {session.get_inputs()[0].name: asked})[0], np.float32)


def _opened(weights: Path) -> Any:
    if not weights.is_file():
        return None
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = cv2.getNumThreads()  # it knows what share of the machine is ours
    # Threads that wait for work by turning would take the cores from what runs beside.
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    options.log_severity_level = 4  # what is wrong with a file is said by None
    try:
        return onnxruntime.InferenceSession(weights, options, providers=["CPUExecutionProvider"])
    except Exception:  # a broken file raises any of the runtime's own classes, which share no other base
        return None
