"""The local page: sessions listed, searched, shown, compared, and what they say together."""

from companion.review.pages.app import make_app
from companion.review.pages.server import serve

__all__ = ["make_app", "serve"]
