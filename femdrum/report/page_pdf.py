"""The report on paper: the same page without what moves, as PDF."""

from __future__ import annotations

import logging
from pathlib import Path
from typing import Any

from ..errors import MissingPart

__all__ = ["set_pages"]

WAY_OUT = "pip install 'femdrum[pdf]', or print report.html from a browser"


def set_pages(text: str, path: Path) -> Path:
    """Set a page's text on A4 and write it; returns the path. Chapters become bookmarks. Nothing is fetched.

    Raises MissingPart where the extra `pdf`, or the system's text library that it needs, is not installed.
    """
    layout = _layout()
    part = path.with_suffix(".part")
    # the page carries all that it shows
    inside = layout.urls.URLFetcher(allowed_protocols=("data",), fail_on_errors=True)
    layout.HTML(string=text, url_fetcher=inside).write_pdf(part, pdf_identifier=b"femdrum")
    part.replace(path)
    return path


def _layout() -> Any:
    """The library that sets pages."""
    try:
        import weasyprint
    except ModuleNotFoundError as error:
        raise MissingPart(f"a PDF needs the package {error.name}: {WAY_OUT}") from error
    except OSError as error:  # the wheel is there, the system's library is not
        reason = " ".join(str(error).split())[:160]
        raise MissingPart(
            f"a PDF needs the system's text library Pango, which did not load ({reason}): "
            "apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0, or print report.html from a browser"
        ) from error
    logging.getLogger("weasyprint").setLevel(logging.CRITICAL)
    return weasyprint
