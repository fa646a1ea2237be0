"""The headers of every answer: what is not needed is forbidden."""

from __future__ import annotations


def security_headers(**allowed: str) -> dict[str, str]:
    """The headers of every answer. `allowed`: what a page may load, as in `img_src="data:"`.

    Nothing else is loaded, sent or framed, and nothing is kept by the browser.
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
