"""A finger and a mouse on a page of the browser: taps, drags, points that are settled slowly."""

from __future__ import annotations


class Finger:
    """One finger (or two) on a touch screen, through the browser's own input events."""

    def __init__(self, page):
        self.page = page
        self.session = page.context.new_cdp_session(page)

    def _send(self, kind, points):
        self.session.send(
            "Input.dispatchTouchEvent",
            {
                "type": kind,
                "touchPoints": [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(points)],
            },
        )

    def tap(self, x, y):
        self._send("touchStart", [(x, y)])
        self.page.wait_for_timeout(30)
        self._send("touchEnd", [])

    def drag(self, start, end, steps=12, pause_ms=20):
        self._send("touchStart", [start])
        for step in range(1, steps + 1):
            self.page.wait_for_timeout(pause_ms)
            share = step / steps
            self._send(
                "touchMove",
                [(start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)],
            )
        self._send("touchEnd", [])

    def settle(self, x, y, beside_px=3):
        """Put a point at (x, y) as one who looks into the magnifier: touched beside it, slid there slowly,
        where the point moves a third as far as the finger."""
        start, steps = (x - beside_px, y), 30
        self._send("touchStart", [start])
        for step in range(1, steps + 1):
            self.page.wait_for_timeout(25)
            self._send("touchMove", [(start[0] + 3 * beside_px * step / steps, y)])
        self._send("touchEnd", [])

    def hold(self, x, y, wait_ms=700):
        """Hold a point at (x, y) as long as it takes to look into the magnifier, and leave it there."""
        self._send("touchStart", [(x, y)])
        self.page.wait_for_timeout(wait_ms)
        self._send("touchMove", [(x + 0.5, y)])  # nobody holds quite still
        self.page.wait_for_timeout(50)
        self._send("touchEnd", [])

    def pinch(self, centre, apart_from, apart_to, steps=10):
        def at(apart):
            return [(centre[0] - apart / 2, centre[1]), (centre[0] + apart / 2, centre[1])]

        self._send("touchStart", at(apart_from))
        for step in range(1, steps + 1):
            self.page.wait_for_timeout(20)
            self._send("touchMove", at(apart_from + (apart_to - apart_from) * step / steps))
        self._send("touchEnd", [])


class Mouse:
    """The same gestures by mouse."""

    def __init__(self, page):
        self.page = page

    def tap(self, x, y):
        self.page.mouse.click(x, y)

    def drag(self, start, end, steps=12, pause_ms=0):
        self.page.mouse.move(*start)
        self.page.mouse.down()
        self.page.mouse.move(*end, steps=steps)
        self.page.mouse.up()

    def settle(self, x, y):
        self.tap(x, y)
