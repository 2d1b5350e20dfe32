"""The outline of a report and its renderers: one answer, told alike on a page and on paper."""

from hingeline.writing.html import render_html
from hingeline.writing.outline import Outline, outline
from hingeline.writing.pdf import render_pdf
from hingeline.writing.report import write_report

__all__ = ["Outline", "outline", "render_html", "render_pdf", "write_report"]
