"""Ratings and regions from XMP (ISO 16684-1), inside a photo or in an ``.xmp`` file beside it.

Enters: a packet written by any program.  Leaves: a rating and regions of the stored picture.  Refuses packets that
declare entities or document types, are no XML, or are larger than any real one.  Read are ``xmp:Rating``, the regions
of the Metadata Working Group (``mwg-rs``) and those of IPTC Photo Metadata 2019.1 and later (``Iptc4xmpExt``); names
of people are not read.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element, ParseError

from defusedxml import DefusedXmlException
from defusedxml.ElementTree import fromstring

from fitter.layout import Box
from fitter.photos.photo import MarkKind
from fitter.photos.regions import (
    MOST_REGIONS,
    POINT_SHARE,
    Region,
    around,
    clipped,
    distinct,
    number,
    round_point,
)

LARGEST_PACKET = 5_000_000
"""Bytes a packet may have."""
LOWEST_RATING, HIGHEST_RATING = -1.0, 5.0

_PADDING = b"\0 \r\n\t"
_EXTENDED = b"http://ns.adobe.com/xmp/extension/\0"
_RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
_XMP = "{http://ns.adobe.com/xap/1.0/}"
_MWG = "{http://www.metadataworkinggroup.com/schemas/regions/}"
_AREA = "{http://ns.adobe.com/xmp/sType/Area#}"
_SIZE = "{http://ns.adobe.com/xap/1.0/sType/Dimensions#}"
_IPTC = "{http://iptc.org/std/Iptc4xmpExt/2008-02-29/}"

_MWG_KINDS: dict[str, tuple[MarkKind, bool]] = {
    "face": ("face", False),
    "pet": ("subject", False),
    "focus": ("subject", True),
}
_NOT_SUBJECTS = ("cropping", "composite", "copyright", "dividingline", "machinecode")
"""Ends of IPTC's identifiers of roles and types that mark something other than a subject."""


@dataclass(frozen=True)
class Xmp:
    """What a packet says.

    Parameters
    ----------
    rating
        Stars, -1 for rejected, within -1…5; ``None`` if unrated.
    regions
        Of the stored picture.
    lists_regions
        Whether it has a list of regions at all, even an empty one.
    notes
        A sentence for everything that was not used.
    """

    rating: float | None = None
    regions: tuple[Region, ...] = ()
    lists_regions: bool = False
    notes: tuple[str, ...] = ()


def read_xmp(packet: bytes, size: tuple[int, int]) -> Xmp:
    """Read a packet; one that cannot be used says so in its ``notes``.

    Parameters
    ----------
    packet
        XML, with or without padding and byte order mark.
    size
        Width and height of the stored picture in pixels.
    """
    if len(packet) > LARGEST_PACKET:
        return Xmp(notes=(f"its XMP has over {LARGEST_PACKET // 10**6} MB and was not read",))
    try:
        root = fromstring(_unpadded(packet), forbid_dtd=True)
    except DefusedXmlException:
        return Xmp(notes=("its XMP declares a document type or entities and was not read",))
    except (ParseError, ValueError, LookupError) as failure:
        reason = " ".join(str(failure).split())[:60]
        return Xmp(notes=(f"its XMP is damaged and was not read ({reason})",))
    rating, notes = None, []
    regions: list[Region] = []
    listed = False
    for about in root.iter(f"{_RDF}Description"):
        stars = _value(about, f"{_XMP}Rating")
        if stars is not None and rating is None:
            rating = _rating(stars)
            if rating is None:
                notes.append("its rating is no number and was not used")
        for holder, name, read in (
            (_child(about, f"{_MWG}Regions"), f"{_MWG}RegionList", _mwg_region),
            (about, f"{_IPTC}ImageRegion", _iptc_region),
        ):
            bag = None if holder is None else _child(holder, name)
            if bag is None:
                continue
            listed = True
            items = list(_items(bag, MOST_REGIONS))
            count = sum(1 for _ in _items(bag))
            if count > len(items):
                notes.append(f"it marks {count:,} regions; the first {len(items)} were used")
            dimensions = _dimensions(holder) or size
            found = [read(item, dimensions) for item in items]
            regions += [region for region in found if isinstance(region, Region)]
            wrong = found.count(None)
            if wrong:
                notes.append(
                    f"{wrong} marked region{'s lie' if wrong > 1 else ' lies'} outside the picture or "
                    f"{'are' if wrong > 1 else 'is'} no region, and {'were' if wrong > 1 else 'was'} not used"
                )
    return Xmp(rating, distinct(regions[:MOST_REGIONS]), listed, tuple(notes))


def extended_packet(main: bytes, segments: Sequence[tuple[str, bytes]]) -> bytes:
    """Return the extended XMP a JPEG's packet speaks of (XMP Specification Part 3, 1.1.3.1); empty if there is none.

    Parameters
    ----------
    main
        The packet itself, which names the other by a digest.
    segments
        The file's APP segments by name.
    """
    parts: dict[int, bytes] = {}
    for name, data in segments:
        if name != "APP1" or not data.startswith(_EXTENDED) or len(data) < len(_EXTENDED) + 40:
            continue
        digest, rest = data[len(_EXTENDED) :][:32], data[len(_EXTENDED) + 32 :]
        if digest in main:
            parts[int.from_bytes(rest[4:8], "big")] = rest[8:]
    whole = b""
    for offset in sorted(parts):
        if offset != len(whole):
            return b""
        whole += parts[offset]
        if len(whole) > LARGEST_PACKET:
            break
    return whole


def _unpadded(packet: bytes) -> bytes | str:
    """Return a packet without what surrounds its XML, decoded where it is UTF-16, whose letters have zero bytes.

    Examples
    --------
    >>> _unpadded(b" <r/> "), _unpadded("<r/> ".encode("utf-16-le"))
    (b'<r/>', '<r/>')
    """
    first = packet.find(b"<")
    if first < 0 or packet[first + 1 : first + 2] != b"\0":
        return packet.strip(_PADDING)
    order = "utf-16-be" if first % 2 else "utf-16-le"
    return packet[: len(packet) // 2 * 2].decode(order).strip("\ufeff" + _PADDING.decode())


def clamped_rating(stars: float) -> float:
    """Return a rating within -1…5; anything below 0 means rejected (MWG Guidelines 2.0, 5.5)."""
    return LOWEST_RATING if stars < 0 else min(stars, HIGHEST_RATING)


def _rating(text: str) -> float | None:
    stars = number(text)
    return None if math.isnan(stars) else clamped_rating(stars)


def _mwg_region(item: Element, size: tuple[int, int]) -> Region | str | None:
    """Return a region, ``"other"`` for a kind that marks no subject, ``None`` if it is none."""
    kind = (_value(item, f"{_MWG}Type") or "").strip().lower()
    if kind and kind not in _MWG_KINDS:
        return "other"
    shows, aimed = _MWG_KINDS.get(kind, ("subject", False))
    area = _child(item, f"{_MWG}Area")
    if area is None:
        return None
    x, y, w, h, d = (number(_value(area, f"{_AREA}{name}")) for name in "xywhd")
    if (_value(area, f"{_AREA}unit") or "").strip().lower() == "pixel":
        x, y, w, h, d = x / size[0], y / size[1], w / size[0], h / size[1], d / min(size)
    box: Box | None
    if not math.isnan(d):
        box = round_point(x, y, d, size)
    elif _value(area, f"{_AREA}w") is None and _value(area, f"{_AREA}h") is None:
        box = round_point(x, y, POINT_SHARE, size)
    else:
        box = around(x, y, w, h)
    return None if box is None else Region(box, shows, aimed)


def _iptc_region(item: Element, size: tuple[int, int]) -> Region | str | None:
    """Return a region, ``"other"`` for a role that marks no subject, ``None`` if it is none."""
    identifiers = [
        (node.text or "").strip().lower()
        for name in ("rRole", "rCtype")
        for node in _all(_child(item, f"{_IPTC}{name}"), "Identifier")
    ]
    if any(word in identifier.rsplit("/", 1)[-1] for identifier in identifiers for word in _NOT_SUBJECTS):
        return "other"
    shows: MarkKind = "face" if any("face" in i.rsplit("/", 1)[-1] for i in identifiers) else "subject"
    boundary = _child(item, f"{_IPTC}RegionBoundary")
    if boundary is None:
        return None
    pixel = (_value(boundary, f"{_IPTC}rbUnit") or "").strip().lower() == "pixel"
    across, down = (size[0], size[1]) if pixel else (1, 1)
    shape = (_value(boundary, f"{_IPTC}rbShape") or "").strip().lower()
    x, y, w, h, r = (number(_value(boundary, f"{_IPTC}{name}")) for name in ("rbX", "rbY", "rbW", "rbH", "rbRx"))
    box: Box | None
    if shape == "polygon":
        vertices = _child(boundary, f"{_IPTC}rbVertices")
        points = [] if vertices is None else list(_items(vertices, 1000))
        xs = [number(_value(point, f"{_IPTC}rbX")) / across for point in points]
        ys = [number(_value(point, f"{_IPTC}rbY")) / down for point in points]
        bad = not xs or any(math.isnan(value) for value in xs + ys)
        if len(xs) == 1 and not bad:
            box = round_point(xs[0], ys[0], POINT_SHARE, size)
        else:
            box = None if bad else clipped(min(xs), min(ys), max(xs), max(ys))
    elif shape == "circle":
        # The radius counts in the picture's width.
        radius = r / across
        box = around(x / across, y / down, 2 * radius, 2 * radius * size[0] / size[1])
    else:
        box = clipped(x / across, y / down, (x + w) / across, (y + h) / down)
    return None if box is None else Region(box, shows)


def _dimensions(regions: Element | None) -> tuple[int, int] | None:
    """Return the size the regions were marked on, which only regions in pixels need."""
    applied = None if regions is None else _child(regions, f"{_MWG}AppliedToDimensions")
    if applied is None:
        return None
    w, h = number(_value(applied, f"{_SIZE}w")), number(_value(applied, f"{_SIZE}h"))
    return (int(w), int(h)) if 1 <= w <= 10**9 and 1 <= h <= 10**9 else None


def _child(node: Element | None, name: str) -> Element | None:
    """Return a property's node, also where the writer put a Description in between."""
    if node is None:
        return None
    for place in (node, *node.findall(f"{_RDF}Description")):
        found = place.find(name)
        if found is not None:
            return found
    return None


def _value(node: Element, name: str) -> str | None:
    """Return a simple property, written as an element or as an attribute."""
    for place in (node, *node.findall(f"{_RDF}Description")):
        if name in place.attrib:
            return place.attrib[name]
        found = place.find(name)
        if found is not None:
            return found.text or ""
    return None


def _items(node: Element, most: int | None = None) -> Iterator[Element]:
    """Return the members of a Bag, Seq or Alt; a property without one is its own only member."""
    for bag in ("Bag", "Seq", "Alt"):
        holder = node.find(f"{_RDF}{bag}")
        if holder is not None:
            for index, item in enumerate(holder.findall(f"{_RDF}li")):
                if most is not None and index >= most:
                    return
                yield item
            return


def _all(node: Element | None, name: str) -> Iterator[Element]:
    """Return every node below that has a local name, with its text or that of its list's members."""
    if node is None:
        return
    for below in node.iter():
        if below.tag.rpartition("}")[2] == name:
            yield from (below, *below.iter(f"{_RDF}li"))
