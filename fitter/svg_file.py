"""Step 1, the outermost door: the bytes of an SVG file become a small, bounded tree of plain nodes.

Enters: a path to an untrusted file.  Leaves: :class:`Node`, the root ``svg`` element.  Refuses: files over
5 MB, over 5,000 elements or 50 levels, entities, scripts, and anything that points outside the file.
Nothing external is ever loaded.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path

from fitter.errors import InputError

LARGEST_FILE = 5_000_000
"""Bytes a template may have."""
MOST_ELEMENTS = 5_000
DEEPEST = 50
SVG_NAMESPACE = "http://www.w3.org/2000/svg"

_OUTSIDE_URL = re.compile(r"url\([\s'\"]*(?!#|data:)[^\s'\")]", re.IGNORECASE)
_OUTSIDE_STYLE = re.compile(r"@import", re.IGNORECASE)


@dataclass
class Node:
    """One element of the file: its local name, attributes by local name, text and children.

    ``foreign`` marks elements of other namespaces (editors' own data), which draw nothing.
    """

    tag: str
    attributes: dict[str, str]
    foreign: bool = False
    text: str = ""
    children: list[Node] = field(default_factory=list)


def _local(name: str) -> str:
    return name.rpartition("}")[2]


def _attributes(raw: dict[str, str]) -> dict[str, str]:
    named = {_local(name): value for name, value in raw.items() if name.startswith("{")}
    return named | {name: value for name, value in raw.items() if not name.startswith("{")}


class _Builder:
    """Parser target that counts while it builds, so that a bomb stops at the limit and not after it."""

    def __init__(self) -> None:
        self.stack: list[Node] = []
        self.root: Node | None = None
        self.count = 0

    def start(self, tag: str, raw: dict[str, str]) -> None:
        self.count += 1
        if self.count > MOST_ELEMENTS:
            raise InputError(f"it has more than {MOST_ELEMENTS:,} elements; remove what is not a slot")
        if len(self.stack) >= DEEPEST:
            raise InputError(f"its groups are nested more than {DEEPEST} levels deep; ungroup some")
        namespace = tag[1:].partition("}")[0] if tag.startswith("{") else ""
        node = Node(_local(tag), _attributes(raw), foreign=namespace not in ("", SVG_NAMESPACE))
        _refuse_active_content(node)
        if self.stack:
            self.stack[-1].children.append(node)
        else:
            self.root = node
        self.stack.append(node)

    def data(self, text: str) -> None:
        if self.stack and self.stack[-1].tag == "style":
            self.stack[-1].text += text

    def end(self, tag: str) -> None:
        node = self.stack.pop()
        if node.tag == "style":
            _refuse_outside(node.text, "<style>")

    def pi(self, target: str, data: str | None = None) -> None:
        if target == "xml-stylesheet":
            raise InputError("it loads a style sheet from outside; put the styles into the file")

    def close(self) -> Node | None:
        return self.root


def _refuse_outside(text: str, where: str) -> None:
    if _OUTSIDE_URL.search(text) or _OUTSIDE_STYLE.search(text):
        raise InputError(
            f"{where} refers to something outside the file; only references within it are allowed"
        )


def _refuse_active_content(node: Node) -> None:
    name = f"<{node.tag}> {node.attributes['id']!r}" if "id" in node.attributes else f"<{node.tag}>"
    if node.foreign and node.tag != "script":
        return
    if node.tag == "script":
        raise InputError("it contains a script; a template is a drawing only, remove the script")
    if node.tag == "foreignObject":
        raise InputError(f"{name} embeds foreign content; a template is a drawing only, remove it")
    for key, value in node.attributes.items():
        if key.lower().startswith("on") and key.isalpha():
            raise InputError(f"{name} runs a script in {key!r}; a template is a drawing only, remove it")
        if key == "href" and node.tag != "a" and not value.strip().startswith(("#", "data:")):
            raise InputError(
                f"{name} refers to {value.strip()[:60]!r} outside the file; "
                "remove it, nothing external is loaded"
            )
        if "(" in value:
            _refuse_outside(value, name)


def load(path: Path) -> tuple[Node, bytes]:
    """Read an SVG file within bounds.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    tuple
        The root node and the file's bytes.

    Raises
    ------
    InputError
        When the file is missing, too large, not XML, not SVG, or unsafe.  The message does not name the
        file: the caller does.
    """
    content = _read_bounded(path)
    return parse(content), content


def _read_bounded(path: Path) -> bytes:
    try:
        if not path.is_file():
            raise InputError("there is no such file" if not path.exists() else "it is not a file")
        with path.open("rb") as stream:
            content = stream.read(LARGEST_FILE + 1)
    except OSError as error:
        raise InputError(f"it cannot be read ({error.strerror or error})") from None
    if len(content) > LARGEST_FILE:
        raise InputError(
            f"it is larger than {LARGEST_FILE // 1_000_000} MB; a template needs a few kilobytes"
        )
    if not content.strip():
        raise InputError("it is empty; a template is an SVG drawing")
    return content


def parse(content: bytes) -> Node:
    """Parse the bytes of an SVG file into nodes; see :func:`load`."""
    from xml.etree.ElementTree import ParseError

    from defusedxml.common import DefusedXmlException
    from defusedxml.ElementTree import DefusedXMLParser

    parser = DefusedXMLParser(target=_Builder(), forbid_dtd=False, forbid_entities=True, forbid_external=True)
    try:
        parser.feed(content)
        root = parser.close()
    except DefusedXmlException:
        raise InputError("it declares entities, which are refused; save it as plain SVG") from None
    except ParseError as error:
        raise InputError(f"it is not well-formed SVG ({error}); save it as plain SVG") from None
    except (LookupError, ValueError):
        raise InputError("its text encoding is not known; save it as UTF-8") from None
    if not isinstance(root, Node) or root.tag != "svg" or root.foreign:
        found = root.tag[:40] if isinstance(root, Node) else "nothing"
        raise InputError(f"its outermost element is <{found}>, not <svg>; a template is an SVG drawing")
    return root
