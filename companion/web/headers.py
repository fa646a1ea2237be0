"""The headers of every answer: what is not needed is forbidden."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.datastructures import MutableHeaders
from starlette.types import Message, Scope

STYLE = frozenset({"/page.css", "/mark.svg", "/favicon.ico"})
"""What every page loads; it holds nothing of any record."""
KEPT_BY_BROWSERS = {"cache-control": "private, max-age=31536000, immutable"}
"""For what another version has another address of (`?v=`)."""


def security_headers(**allowed: str) -> dict[str, str]:
    """The headers of every answer. `allowed`: what a page may load, as in `img_src="data:"`.

    Nothing else is loaded, sent or framed, and nothing is kept by the browser but its style.
    """
    policy = {
        "default-src": "'none'",
        "base-uri": "'none'",
        "form-action": "'none'",
        "frame-ancestors": "'none'",
    } | {name.replace("_", "-"): source for name, source in allowed.items()}
    return {
        "content-security-policy": "; ".join(f"{name} {source}" for name, source in policy.items()),
        "x-content-type-options": "nosniff",
        "x-frame-options": "DENY",
        "referrer-policy": "no-referrer",
        "cross-origin-opener-policy": "same-origin",
        "cross-origin-resource-policy": "same-origin",
        "permissions-policy": "camera=(), microphone=(), geolocation=()",
        "cache-control": "no-store",
    }


def put_on(message: Message, scope: Scope, headers: Mapping[str, str]) -> None:
    """The headers onto an answer that begins; a browser may keep the style of pages alone."""
    given = MutableHeaders(scope=message)
    given.update(headers)
    is_versioned = scope["query_string"].startswith(b"v=")
    if scope["path"] in STYLE and is_versioned and message["status"] == 200:
        given.update(KEPT_BY_BROWSERS)
