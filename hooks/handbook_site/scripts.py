"""The hand-written scripts as they are published: without comments and indents, some of them as one file.

A page waits for each file that it asks for, and a reader's phone for each byte. What is left reads line by
line as it was written, so that a fault in a browser's console is found again. A minifier of its own right is
not used: those that are plain Python take the texts inside of nested template literals for code.
"""

import re

from mkdocs.structure.files import File

from handbook_site.overlay import base_of

FOLDER = "assets/"
COMMENT = re.compile(r"^[ \t]*(?:/\*(?:(?!\*/).)*\*/[ \t]*|//[^\n]*)$", re.DOTALL | re.MULTILINE)
INDENT = re.compile(r"^\s+", re.MULTILINE)


def lean(text: str) -> str:
    """Return a script without its indents, its empty lines and the comments that have lines of their own.

    No text in a script may go over several lines; `tests/test_weight.py` holds ours to that.
    """
    return INDENT.sub("", COMMENT.sub("", text))


def publish(files, config) -> None:
    """Put the scripts of the site's own folders into its files as they are to be published.

    Those of the calculators become one file; pages of a site without them still read right.
    """
    from handbook_calc.engine.forms import HAND_WRITTEN, JOINED

    folders = {str(folder) for folder in (config.docs_dir, base_of(config)) if folder}
    written = {
        file.src_uri: file
        for file in files
        if file.src_dir in folders and file.src_uri.startswith(FOLDER) and file.src_uri.endswith(".js")
    }
    texts = {uri: lean(file.content_string) for uri, file in written.items()}
    parts = [f"{FOLDER}bench/{name}" for name in HAND_WRITTEN]
    if texts.keys() >= set(parts):
        texts[FOLDER + JOINED] = "".join(texts.pop(part) for part in parts)
    for file in written.values():
        files.remove(file)
    for uri, text in texts.items():
        files.append(File.generated(config, uri, content=text))
