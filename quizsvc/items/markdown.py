"""Prompts as safe HTML: a small subset of Markdown, rendered by markdown-it-py, cleaned by nh3.

Kept: paragraphs, line breaks, emphasis, strong, `code`, lists and tables. Links, pictures,
headings, quotations and raw HTML are not part of a prompt; pictures have their own field so that
each has a text beside it.
"""

from __future__ import annotations

from functools import cache

import nh3
from markdown_it import MarkdownIt

KEPT_TAGS = frozenset(
    {"p", "br", "em", "strong", "code", "ul", "ol", "li"}
    | {"table", "thead", "tbody", "tr", "th", "td"}
)
_LEFT_OUT = (
    *("html_block", "html_inline", "image", "link", "autolink", "reference"),
    *("heading", "lheading", "hr", "blockquote", "code", "fence"),
)


@cache
def _markdown() -> MarkdownIt:
    return MarkdownIt("commonmark", {"html": False}).enable("table").disable(list(_LEFT_OUT))


def render_prompt(text: str) -> str:
    r"""Return the prompt as HTML that is safe to put into a page as it is.

    >>> render_prompt("Turn the crank **forwards**.")
    '<p>Turn the crank <strong>forwards</strong>.</p>\n'
    >>> render_prompt("<script>alert(1)</script>")
    '<p>&lt;script&gt;alert(1)&lt;/script&gt;</p>\n'
    """
    return nh3.clean(_markdown().render(text), tags=set(KEPT_TAGS), attributes={})


def plain_words(text: str) -> str:
    r"""Return the prompt's words without markup, on one line, for paper, search and speech.

    >>> plain_words("Turn the crank **forwards**.\n\n- slowly\n- by hand")
    'Turn the crank forwards. slowly by hand'
    """
    words: list[str] = []
    for block in _markdown().parse(text):
        for part in block.children or ():
            words.append(part.content if part.type in {"text", "code_inline"} else "")
            if part.type in {"softbreak", "hardbreak"}:
                words.append(" ")
        words.append(" ")
    return " ".join("".join(words).split())
