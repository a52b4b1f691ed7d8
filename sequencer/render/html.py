"""HTML in small: elements whose text is always escaped, and whole pages that need nothing else and run nothing."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

_EMPTY = frozenset({"meta", "rect"})
"""Elements without an end; in drawings they must say so."""


class Markup(str):
    """Text that is HTML already; every other text is escaped where it is put in."""

    __slots__ = ()


Part = str | Iterable["Part"] | None
"""What an element can hold: text, markup, several of these, or nothing."""


def el(tag: str, *parts: Part, **attributes: str | int | None) -> Markup:
    """An element; ``class_`` is written ``class``, ``aria_label`` ``aria-label``, and attributes that are None are left out."""
    stated = (
        f' {name.rstrip("_").replace("_", "-")}="{escape(str(value))}"' for name, value in attributes.items() if value is not None
    )
    opened = f"<{tag}{''.join(stated)}"
    return Markup(f"{opened}/>") if tag in _EMPTY else Markup(f"{opened}>{markup(parts)}</{tag}>")


def markup(part: Part) -> Markup:
    """Any part as markup: what is not yet is escaped."""
    if part is None:
        return Markup("")
    if isinstance(part, Markup):
        return part
    if isinstance(part, str):
        return Markup(escape(part))
    return Markup("".join(markup(each) for each in part))


def page(title: str, style: str, *parts: Part, class_: str | None = None) -> str:
    """A whole page with its style inside it. It names no other file, and a browser that honours its policy runs no script."""
    policy = el("meta", http_equiv="Content-Security-Policy", content="default-src 'none'; style-src 'unsafe-inline'")
    head = el("head", _UTF_8, policy, _VIEWPORT, el("title", title), Markup(f"<style>{style}</style>"))
    return f'<!DOCTYPE html>\n<html lang="en">\n{head}\n{el("body", parts, class_=class_)}\n</html>\n'


_UTF_8 = Markup('<meta charset="utf-8">')
_VIEWPORT = Markup('<meta name="viewport" content="width=device-width">')
