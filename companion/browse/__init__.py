"""The local page: sessions listed, searched, shown, compared, and what they say together."""

from companion.browse.app import make_app
from companion.browse.server import serve

__all__ = ["make_app", "serve"]
