"""A content policy in each page: what it may load and run is what the theme and this project put there.

Nothing comes from another host, no script that a text smuggled in runs, no form sends anything away.
"""

import base64
import hashlib
import re
from html import escape

SCRIPT = re.compile(r"<script(?P<attributes>[^>]*)>(?P<text>.*?)</script>", re.DOTALL)
STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)
ARTICLE, ARTICLES_END = re.compile(r"<article\b"), "</article>"
RULES = (
    "default-src 'none'",
    "img-src 'self' data:",  # the theme's icons are data addresses in its style sheet
    "font-src 'self'",
    "connect-src 'self'",
    "worker-src 'self'",
    "manifest-src 'self'",
    "base-uri 'none'",
    "form-action 'none'",
    "object-src 'none'",
)


def with_policy(html: str) -> str:
    """Return a finished page with its policy; inline scripts and styles around its text pass by digest."""
    around = _around_articles(html)
    scripts = dict.fromkeys(
        _digest(script["text"])
        for script in SCRIPT.finditer(around)
        if "src=" not in script["attributes"] and "application/json" not in script["attributes"]
    )
    styles = dict.fromkeys(map(_digest, STYLE.findall(around)))
    allowed = " ".join(("style-src 'self'", *styles)), " ".join(("script-src 'self'", *scripts))
    rules = "; ".join((*RULES, *allowed))
    meta = f'<meta http-equiv="Content-Security-Policy" content="{escape(rules, quote=False)}">'
    # Before anything that it is to govern, but after the encoding, which must come early.
    return re.sub(r"(<meta charset=[^>]*>)", lambda found: found[1] + meta, html, count=1)


def _digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _around_articles(html: str) -> str:
    """Return what stands around the text of a page."""
    parts, at = [], 0
    while (opened := ARTICLE.search(html, at)) and (closed := html.find(ARTICLES_END, opened.end())) >= 0:
        parts.append(html[at : opened.start()])
        at = closed + len(ARTICLES_END)
    return "".join([*parts, html[at:]])
