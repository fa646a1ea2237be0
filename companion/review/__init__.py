"""Reading a session afterwards: the report and its pictures."""

from companion.review.report import render_report, write_report

__all__ = ["render_report", "write_report"]
