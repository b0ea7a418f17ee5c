"""Twenty sessions of the real app, each with a photo of 12 megapixels of its own, all at once on two cores.

    python -m tests.benchmarks.twenty_sessions [SESSIONS]

Speaks the app's own WebSocket and upload route over the loopback device, as a browser does, so that the
machine's time goes to the server. Printed: failures, the wait from the upload to the editor beside that of
one session alone, what the users were told meanwhile, how fast a light page answers others meanwhile beside
how fast it answers on an idle server, and the server's peak memory.
"""

from __future__ import annotations

import http.client
import statistics
import sys
import tempfile
import threading
import time
import uuid
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path

from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.sync.client import connect

from tests.benchmarks.served import Served, served, twelve_megapixels
from ui.store import Store

CORES = 2
MOST_WAIT_S = 900.0


@dataclass
class Told:
    """What one session saw."""

    waited_s: float = 0.0
    fault: str = ""
    lines: list[str] = field(default_factory=list)


class Session:
    """One browser session, as far as the server can tell."""

    def __init__(self, server: Served) -> None:
        self.server = server
        self.closing = ExitStack()
        opened = connect(
            f"ws://127.0.0.1:{server.port}/_stcore/stream",
            subprotocols=["streamlit"],  # type: ignore[list-item]
            origin=server.address,  # type: ignore[arg-type]
            max_size=None,
            open_timeout=120,
            ping_interval=None,
        )
        self.socket = self.closing.enter_context(opened)
        self.session_id = ""
        self.uploader = ""

    def show(self, page: str, query: str = "", upload: object = None) -> None:
        """Ask for a page, with a file in its uploader where one was sent."""
        message = BackMsg()
        message.rerun_script.query_string = query
        message.rerun_script.page_name = page
        if upload is not None:
            state = message.rerun_script.widget_states.widgets.add(id=self.uploader)
            state.file_uploader_state_value.uploaded_file_info.append(upload)  # type: ignore[arg-type]
        self.socket.send(message.SerializeToString())

    def next_message(self, until: float) -> ForwardMsg:
        """The server's next message."""
        message = ForwardMsg()
        message.ParseFromString(self.socket.recv(timeout=max(0.1, until - time.monotonic())))  # type: ignore[arg-type]
        if message.HasField("new_session") and message.new_session.initialize.session_id:
            self.session_id = message.new_session.initialize.session_id
        if message.WhichOneof("type") == "delta":
            element = message.delta.new_element
            if element.HasField("file_uploader") and not self.uploader:  # the first one is for photos
                self.uploader = element.file_uploader.id
        return message

    def until_drawn(self) -> float:
        """Seconds until the page that was asked for is drawn."""
        begun = time.monotonic()
        while self.next_message(begun + MOST_WAIT_S).WhichOneof("type") != "script_finished":
            pass
        return time.monotonic() - begun

    def send_file(self, name: str, data: bytes) -> object:
        """Upload a file by the route that the server names."""
        asked = BackMsg()
        asked.file_urls_request.request_id = "file"
        asked.file_urls_request.file_names.append(name)
        asked.file_urls_request.session_id = self.session_id
        self.socket.send(asked.SerializeToString())
        while True:
            message = self.next_message(time.monotonic() + MOST_WAIT_S)
            if message.WhichOneof("type") == "file_urls_response":
                break
        urls = message.file_urls_response.file_urls[0]
        border = uuid.uuid4().hex
        head = f'--{border}\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n'
        body = f"{head}Content-Type: image/jpeg\r\n\r\n".encode() + data + f"\r\n--{border}--\r\n".encode()
        to = http.client.HTTPConnection("127.0.0.1", self.server.port, timeout=MOST_WAIT_S)
        to.request("GET", "/_stcore/health")
        token = ""
        reply = to.getresponse()
        for cookie in reply.headers.get_all("set-cookie") or []:
            if cookie.startswith("_streamlit_xsrf="):
                token = cookie.partition("=")[2].partition(";")[0]
        reply.read()
        headers = {"Content-Type": f"multipart/form-data; boundary={border}", "Origin": self.server.address}
        if token:
            headers |= {"X-Xsrftoken": token, "Cookie": f"_streamlit_xsrf={token}"}
        to.request("PUT", urls.upload_url, body=body, headers=headers)
        reply = to.getresponse()
        reply.read()
        to.close()
        if reply.status >= 300:
            raise RuntimeError(f"the upload was answered with {reply.status}")
        from streamlit.proto.Common_pb2 import UploadedFileInfo

        return UploadedFileInfo(name=name, size=len(data), file_id=urls.file_id, file_urls=urls)


def photo_to_editor(server: Served, job_id: str, data: bytes, start: threading.Barrier, told: Told) -> None:
    """Open a job, upload the photo, wait for its editor."""
    try:
        session = Session(server)
        session.show("walls", f"job={job_id}")
        session.until_drawn()
        start.wait()
        begun = time.monotonic()
        session.show("walls", f"job={job_id}", session.send_file("wall.jpg", data))
        while True:
            message = session.next_message(begun + MOST_WAIT_S)
            if message.WhichOneof("type") != "delta":
                continue
            element = message.delta.new_element
            if element.HasField("alert"):
                told.fault = element.alert.body
                break
            if element.HasField("exception"):
                told.fault = element.exception.message
                break
            if element.HasField("markdown") and element.markdown.body.startswith("**"):
                told.lines.append(element.markdown.body.strip("* …"))
            if element.HasField("bidi_component") and "editor" in element.bidi_component.component_name:
                break
        told.waited_s = time.monotonic() - begun
        session.closing.close()
    except Exception as fault:
        told.fault = repr(fault)


def light_pages(server: Served, job_id: str, ends: threading.Event, taken: list[float]) -> None:
    """Another user turns to a page without pictures again and again, once a second."""
    session = Session(server)
    while not ends.is_set():
        session.show("help", f"job={job_id}")
        taken.append(session.until_drawn())
        ends.wait(1.0)
    session.closing.close()


def together(server: Served, store: Store, photos: list[bytes]) -> tuple[list[Told], list[float]]:
    """All sessions at once, and a light page meanwhile."""
    tells = [Told() for _ in photos]
    barrier = threading.Barrier(len(photos))
    threads = [
        threading.Thread(target=photo_to_editor, args=(server, store.new_job("Load"), photo, barrier, told))
        for photo, told in zip(photos, tells, strict=True)
    ]
    ends, taken = threading.Event(), []  # type: ignore[var-annotated]
    other = threading.Thread(target=light_pages, args=(server, store.new_job("Other"), ends, taken))
    other.start()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    ends.set()
    other.join()
    return tells, taken


def main(sessions: int = 20) -> None:
    """Measure one session alone, then all of them, and print the comparison."""
    with tempfile.TemporaryDirectory() as name, served(Path(name), CORES) as server:
        store = Store(name)
        ends, idle = threading.Event(), []  # type: ignore[var-annotated]
        threading.Timer(20.0, ends.set).start()
        light_pages(server, store.new_job("Other"), ends, idle)
        (alone,), _ = together(server, store, [twelve_megapixels(1)])
        alone_mb, alone_cpu_s = server.peak_mb(), server.cpu_s()
        photos = [twelve_megapixels(2 + number) for number in range(sessions)]
        tells, taken = together(server, store, photos)
        faults = [told.fault for told in tells if told.fault]
        waits = [told.waited_s for told in tells]
        shortest, longest = min(waits), max(waits)
        each_s = (server.cpu_s() - alone_cpu_s) / sessions
        quiet, median, worst = statistics.median(idle), statistics.median(taken), max(taken)
        print(f"{sessions} sessions, {len(faults)} failures {faults[:2]}")
        print(f"upload to editor, one session alone: {alone.waited_s:.1f} s {alone.fault}")
        shortest, longest = shortest / alone.waited_s, longest / alone.waited_s
        print(f"shortest wait {shortest:.1f} x, longest {longest:.1f} x of that")
        print(f"server: {each_s:.1f} s of one core for each session")
        print(f"told while waiting: {sorted({line for told in tells for line in told.lines})}")
        print(f"a light page on the idle server: {1000 * quiet:.0f} ms")
        print(
            f"meanwhile: median {median / quiet:.1f} x, worst of {len(taken)} {worst / quiet:.1f} x of that"
        )
        print(f"server's peak memory: {alone_mb:.0f} MB with one, {server.peak_mb():.0f} MB with all")


if __name__ == "__main__":
    main(*(int(number) for number in sys.argv[1:]))
