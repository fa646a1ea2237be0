"""HTTP of the local pages: uvicorn's own, which also refuses a body that breaks off being HTTP.

uvicorn hands a request on as soon as its head was read. Where the body then turns out malformed it
answers 400 itself, and the application's own answer meets a connection that is already over, which
ends in a traceback in the log. Nothing that these pages answer has a body, so the refusal is the
last word.
"""

from __future__ import annotations

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol


class PageProtocol(H11Protocol):
    """One connection to a page."""

    def send_400_response(self, msg: str) -> None:
        """Refuse in plain words; what the application still says goes nowhere."""
        if self.conn.our_state in (h11.IDLE, h11.SEND_RESPONSE):
            super().send_400_response(msg)
        else:
            # The answer is under way or given: there is only the connection left to end.
            self.transport.close()
        if self.cycle is not None:
            self.cycle.disconnected = True
            self.cycle.message_event.set()
