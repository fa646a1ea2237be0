"""The local page: sessions listed, searched, shown, compared, and what they say together."""
