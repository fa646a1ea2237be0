"""The report's pictures, one a file, as SVG to be put into the page."""
