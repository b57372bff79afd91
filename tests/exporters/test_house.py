"""The look of a house: its templates, logo and style; what could run or load is refused."""

from __future__ import annotations

import base64
from collections.abc import Callable
from pathlib import Path

import pytest

from binder.errors import BinderError, FileError, RequestError
from binder.file import BinderFile
from exporters.export import render
from exporters.house import Look, read_house
from exporters.html import policy
from tests.exporters.conftest import TODAY
from tests.exporters.reading import page, text_of

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 8 8"><rect width="8" height="8"/>%s</svg>'
)
Write = Callable[..., Path]


@pytest.fixture
def house(tmp_path: Path) -> Write:
    """`house({"logo.svg": text})`: a folder that holds these files."""

    def write(held: dict[str, str | bytes]) -> Path:
        for name, data in held.items():
            path = tmp_path / "house" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data.encode() if isinstance(data, str) else data)
        return tmp_path / "house"

    return write


def made(closet: BinderFile, folder: Path, form: str = "html") -> str:
    files = render(closet, "handoff", form=form, today=TODAY, look=Look(read_house(folder)))
    return str(next(iter(files.values())))


def test_a_logo_stands_on_the_cover_and_at_the_head_and_is_in_the_page(
    closet: BinderFile, house: Write
) -> None:
    document = page(made(closet, house({"logo.svg": SVG % ""})))
    images = list(document.iter("img"))
    assert len(images) == 2
    head, cover = images
    address = cover.get("src") or ""
    assert address == head.get("src")
    assert base64.b64decode(address.partition("base64,")[2]) == (SVG % "").encode()
    style = document.find(".//style")
    assert style is not None
    assert f"url('{address}')" in text_of(style)  # at the head of each printed page


@pytest.mark.parametrize(
    ("within", "named"),
    [
        ("<script>alert(1)</script>", "<script>"),
        ("<foreignObject><p/></foreignObject>", "<foreignObject>"),
        ('<g onload="alert(1)"/>', "onload="),
        ('<image href="https://tracker.example/x.png"/>', "https://tracker.example"),
        ('<a xmlns:xlink="http://www.w3.org/1999/xlink" xlink:href="javascript:alert(1)"/>',
         "javascript:alert"),
        ('<rect fill="url(https://tracker.example/#a)"/>', "https://tracker"),
        ('<rect style="background:url( //tracker.example/a)"/>', "tracker"),
        ("<style>@import 'https://tracker.example/a.css';</style>", "@import"),
        ('<set attributeName="href" to="javascript:alert(1)"/>', "<set>"),
    ],
)  # fmt: skip
def test_a_logo_that_could_run_or_load_is_refused(house: Write, within: str, named: str) -> None:
    """What SVG can do beyond drawing: SVG 2 (W3C), chapters 'Linking' and 'Scripting'."""
    with pytest.raises(RequestError, match=r"logo\.svg: holds") as told:
        read_house(house({"logo.svg": SVG % within}))
    assert named in str(told.value)
    assert "\n" not in str(told.value)


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("logo.svg", "<!DOCTYPE svg [<!ENTITY a 'b'>]>" + SVG % "&a;", "holds '<!DOCTYPE'"),
        ("logo.svg", "<svg", "is not SVG that can be read"),
        ("logo.svg", "<html/>", "is not SVG: its element is 'html'"),
        ("logo.png", b"GIF89a", "is not a PNG"),
        ("logo.png", b"\x89PNG" + bytes(600_000), "at most 512"),
        ("house.css", "h1 {}</style><script>", "holds '</'"),
        ("house.css", "h1 {}\n@import 'x.css';", r"house\.css, line 2: a document loads nothing"),
        ("house.css", "h1 { background: url(https://tracker.example/) }", "loads nothing"),
        ("house.css", b"\xff", "is not UTF-8"),
    ],
)
def test_what_is_no_good_is_told_in_one_line(
    house: Write, name: str, data: str | bytes, said: str
) -> None:
    with pytest.raises(BinderError, match=said) as told:
        read_house(house({name: data}))
    assert "\n" not in str(told.value)


def test_a_folder_that_is_not_there_or_holds_nothing_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such folder"):
        read_house(tmp_path / "none")
    with pytest.raises(RequestError, match=r"holds no templates/\*\.j2"):
        read_house(tmp_path)


def test_the_house_s_style_comes_last_and_the_policy_allows_it(
    closet: BinderFile, house: Write
) -> None:
    document = page(made(closet, house({"house.css": "h1 { letter-spacing: 1px; }\n"})))
    style, script = document.find(".//style"), document.find(".//script")
    assert style is not None
    assert script is not None
    assert text_of(style).endswith("h1 { letter-spacing: 1px; }\n")
    meta = next(document.iter("meta"))
    assert meta.get("content") == policy(text_of(style), text_of(script))


def test_a_template_of_the_house_extends_the_one_it_replaces(
    closet: BinderFile, house: Write
) -> None:
    own = (
        '{% extends "binder/handoff/cover.md.j2" %}{% block use %}'
        "Call {{ document.client | md }}'s shop.{% endblock %}"
    )
    folder = house({"templates/handoff/cover.md.j2": own})
    cover = made(closet, folder, "markdown")
    assert "Call Quillmere Veterinary Clinic's shop." in cover
    assert "How to use this binder" not in cover
    assert "## Contents" in cover


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("cover.md.j2", "a\n{% if %}", r"templates/cover\.md\.j2 of the house, line 2: "),
        ("cover.md.j2", "a\n\n{{ document.nothing }}", "of the house, line 3: .*has no attribute"),
        ("section.md.j2", "{{ 1 / 0 }}", r"section\.md\.j2 of the house, line 1: division by zero"),
        ("page.html.j2", "{{ nothing }}", r"page\.html\.j2 of the house, line 1: 'nothing' is un"),
        ("page.html.j2", "<p>bare</p>", "leaves out the line of the policy"),
        ("cover.md.j2", "{{ ''.__class__.__mro__[1].__subclasses__() }}", "unsafe"),
    ],
)
def test_a_template_that_fails_is_told_with_its_line(
    closet: BinderFile, house: Write, name: str, text: str, said: str
) -> None:
    with pytest.raises(RequestError, match=said) as told:
        made(closet, house({f"templates/{name}": text}))
    assert "\n" not in str(told.value)


def test_a_template_that_escapes_nothing_still_runs_nothing(
    closet: BinderFile, house: Write, change: Callable[..., None]
) -> None:
    change("client Quillmere Veterinary Clinic", identifier="<script>alert(1)</script>")
    folder = house({"templates/cover.md.j2": "# {{ document.client }}\n"})
    document = page(made(closet, folder))
    assert len(list(document.iter("script"))) == 1
    assert "<script>alert(1)</script>" in text_of(document)
