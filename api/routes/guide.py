"""The guide, to read in a browser, as HTML: no script, nothing from elsewhere, links only to one another."""

from __future__ import annotations

import posixpath
import re
from functools import cache
from html import escape
from itertools import pairwise

from fastapi import APIRouter, Request
from markdown_it import MarkdownIt
from markdown_it.token import Token
from starlette.responses import HTMLResponse, Response

from api.errors import NothingHere
from api.media import require_accepted
from sequencer import GUIDE, guide_text

router = APIRouter(include_in_schema=False)

POLICY = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )
}


@router.get("/guide")
async def topics(request: Request) -> Response:
    """The list of topics."""
    require_accepted(request, "text/html")
    return HTMLResponse(guide_list(), headers=POLICY)


@router.get("/guide/{topic}")
def page(request: Request, topic: str) -> Response:
    """One topic."""
    require_accepted(request, "text/html")
    found = guide_page(topic)
    if found is None:
        raise NothingHere("The guide has no such topic; /guide lists those there are.")
    return HTMLResponse(found, headers=POLICY)


# -- the pages ---------------------------------------------------------------------------------------------------------

_PAGE = """\
<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
<title>{title}</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="icon" href="{up}page/sign.svg" type="image/svg+xml">
<link rel="stylesheet" href="{up}page/page.css">
<link rel="stylesheet" href="{up}page/guide.css">
</head>
<body class="guide">
<a class="skip" href="#main">Skip to the text</a>
<nav aria-label="Guide"><a href="{up}./">Unit sequencer</a> {others}</nav>
<main id="main">
{body}</main>
</body>
</html>
"""

_BY_PATH = {topic.path: topic.name for topic in GUIDE}


@cache
def guide_list() -> str:
    """The page that lists the topics, as HTML."""
    rows = "".join(f'<dt><a href="guide/{topic.name}">{topic.name}</a></dt><dd>{escape(topic.says)}</dd>\n' for topic in GUIDE)
    return _PAGE.format(title="Unit sequencer: the guide", up="", others="", body=f"<h1>The guide</h1>\n<dl>\n{rows}</dl>\n")


@cache
def guide_page(name: str) -> str | None:
    """A page of the guide as HTML; none where there is no such page."""
    text = guide_text(name)
    if text is None:
        return None
    path = next(topic.path for topic in GUIDE if topic.name == name)
    markdown = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = markdown.parse(re.sub(r"<!--.*?-->\n?", "", text))
    _give_anchors(tokens)
    for token in tokens:
        token.children = list(_with_links_of_ours(token.children, posixpath.dirname(path))) if token.children else token.children
    body = markdown.renderer.render(tokens, markdown.options, {})
    # What may be wider than a narrow screen is scrolled by itself, with keys too.
    body = body.replace("<table>", '<div class="wide" tabindex="0" role="region" aria-label="Table"><table>')
    body = body.replace("</table>", "</table></div>").replace("<pre>", '<pre tabindex="0">')
    others = " ".join(
        f'<a href="{topic.name}"{" aria-current=page" if topic.name == name else ""}>{topic.name}</a>' for topic in GUIDE
    )
    return _PAGE.format(title=f"Unit sequencer: {name}", up="../", others=others, body=body)


def _give_anchors(tokens: list[Token]) -> None:
    """Each heading is named by its words, in small letters and joined by hyphens, so that a link can lead to it."""
    for token, text in pairwise(tokens):
        if token.type == "heading_open":
            token.attrSet("id", re.sub(r"[^\w -]", "", text.content.lower()).replace(" ", "-"))


def _with_links_of_ours(tokens: list[Token], folder: str) -> list[Token]:
    """Links lead to pages of the guide, or are plain text; of a picture there is what it shows, in words."""
    kept: list[Token] = []
    closing: list[bool] = []
    for token in tokens:
        if token.type == "link_open":
            address = _address(str(token.attrGet("href") or ""), folder)
            closing.append(address is not None)
            if address is not None:
                token.attrSet("href", address)
                kept.append(token)
        elif token.type == "link_close":
            if closing.pop():
                kept.append(token)
        elif token.type == "image":
            kept.append(Token("text", "", 0, content=f"(Picture: {token.content})"))
        else:
            kept.append(token)
    return kept


def _address(link: str, folder: str) -> str | None:
    path, _, part = link.partition("#")
    topic = _BY_PATH.get(posixpath.normpath(posixpath.join(folder, path))) if path else ""
    return None if topic is None else f"{topic}{'#' + part if part else ''}"
