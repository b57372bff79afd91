"""Documents of the closet in tests/conftest.py, as of the 14th of March 2026."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from binder.file import BinderFile
from exporters.export import render

TODAY = date(2026, 3, 14)
STEM = "quillmere-veterinary-clinic-handoff-draft"


@pytest.fixture
def section(binder: BinderFile) -> Callable[[str], str]:
    """`section("circuits")`: that section of the handoff as Markdown, as the binder is now."""

    def section(name: str) -> str:
        files = render(binder, "handoff", form="markdown", today=TODAY)
        return next(text for path, text in files.items() if path.endswith(f"-{name}.md"))

    return section


@pytest.fixture
def page_text(binder: BinderFile) -> Callable[[], str]:
    """The handoff as one page, as the binder is now."""
    return lambda: render(binder, "handoff", form="html", today=TODAY)[f"{STEM}.html"]
