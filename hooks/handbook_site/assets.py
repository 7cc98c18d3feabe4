"""The hand-written scripts and styles as they are published: without comments and indents, in few files.

A page waits for each file that it asks for, and a reader's phone for each byte. What is left reads line by
line as it was written, so that a fault in a browser's console is found again. No minifier is used: those in
plain Python take the texts inside of nested template literals for code.
"""

import re

from mkdocs.structure.files import File

from handbook_site.overlay import base_of

FOLDER = "assets/"
SCRIPT, STYLES = f"{FOLDER}pages.js", f"{FOLDER}pages.css"  # of every page
US = f"{FOLDER}us.js"  # of pages that are read in US units
COMMENT = re.compile(r"^[ \t]*(?:/\*(?:(?!\*/).)*\*/[ \t]*|//[^\n]*)$", re.DOTALL | re.MULTILINE)
STYLE_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
INDENT = re.compile(r"^\s+", re.MULTILINE)
BUNDLE = "assets/javascripts/bundle."  # the theme's script
STYLES_OF_PAGE = re.compile(r'<link rel="stylesheet" [^>]*>')
LOADED = re.compile(r'<script src="([^"]*)"></script>')


def lean(text: str) -> str:
    """Return a script without its indents, its empty lines and the comments that have lines of their own.

    No text in a script may go over several lines; `tests/test_weight.py` holds ours to that.
    """
    return INDENT.sub("", COMMENT.sub("", text))


def lean_styles(text: str) -> str:
    """Return a style sheet without its comments, indents and empty lines."""
    return INDENT.sub("", STYLE_COMMENT.sub("", text))


def publish(files, config) -> None:
    """Put the scripts and styles of the site's own folders into its files as they are to be published.

    Those that mkdocs.yml names for every page become one file each, and so do those of the calculators; pages
    of a site without them still read right.
    """
    from handbook_calc.engine.forms import HAND_WRITTEN, JOINED
    from handbook_calc.engine.quantities import us_script

    scripts = _taken(files, config, ".js", lean)
    parts = [f"{FOLDER}bench/{name}" for name in HAND_WRITTEN]
    if scripts.keys() >= set(parts):
        scripts[FOLDER + JOINED] = "".join(scripts.pop(part) for part in parts)
    if US in scripts:
        scripts[US] = us_script() + scripts[US]
    _join(scripts, config.extra_javascript, SCRIPT, apart)
    styles = _taken(files, config, ".css", lean_styles)
    _join(styles, config.extra_css, STYLES, str)
    for uri, text in (scripts | styles).items():
        files.append(File.generated(config, uri, content=text))


def apart(script: str) -> str:
    """Return a script whose fault leaves those after it in the same file at work."""
    return f"try{{\n{script}}}catch(fault){{console.error(fault);}}\n"


def _taken(files, config, end: str, made) -> dict[str, str]:
    """Take the files of one kind that lie in the site's own folders; return each as it is to be published."""
    folders = {str(folder) for folder in (config.docs_dir, base_of(config)) if folder}
    taken = [
        file
        for file in files
        if file.src_dir in folders and file.src_uri.startswith(FOLDER) and file.src_uri.endswith(end)
    ]
    for file in taken:
        files.remove(file)
    return {file.src_uri: made(file.content_string) for file in taken}


def _join(texts: dict[str, str], named: list, name: str, each) -> None:
    """Join the files that every page names; they are named as one, where the first of them stood."""
    ours = [entry for entry in named if isinstance(entry, str) and entry in texts]
    if ours:
        texts[name] = "".join(each(texts.pop(entry)) for entry in ours)
        named[named.index(ours[0])] = name
        named[:] = [entry for entry in named if entry not in ours]


def asked_for_early(html: str) -> str:
    """Return a page that asks for its scripts behind its styles and runs them once it is read to its end.

    That of all pages runs before the theme's: both change what stands on the page, and the theme's has it
    laid out anew, so that is done once for both. The others follow as they stand on the page. Where a browser
    stops to wait for a script, it draws what it has, and draws it again behind each; and where a page has a
    policy, it looks ahead for styles but not for scripts, so that one at the end of the page is fetched when
    everything else is done.
    """
    scripts = sorted(LOADED.findall(html), key=lambda address: (SCRIPT not in address, BUNDLE not in address))
    tags = "".join(f'<script src="{address}" defer></script>' for address in scripts)
    html = LOADED.sub("", html)
    # Behind a script that stands in the head itself, they would be asked for when all styles are there.
    head = re.search(r"<script\b|</head>", html)
    styles = [found.end() for found in STYLES_OF_PAGE.finditer(html, 0, head.start() if head else 0)]
    at = styles[-1] if styles else head.start() if head else 0
    return html[:at] + tags + html[at:]
