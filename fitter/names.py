"""Names that users write, looked up among those there are; errors name the nearest and all others."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from pathlib import Path

from fitter.errors import UseError


def unknown(kind: str, name: str, known: Sequence[str]) -> UseError:
    """Return the error for a name that is not known, with the nearest and all known names."""
    near = get_close_matches(name, known, n=1)
    hint = f" (did you mean {near[0]}?)" if near else ""
    return UseError(f"{kind} {name[:60]!r} is not known{hint}; choose from {', '.join(known)}")


def told_apart(one: Path, other: Path) -> tuple[str, str]:
    """Return the file names of two paths, with as many folders before them as tell them apart.

    Examples
    --------
    >>> told_apart(Path("/home/anna/lake/1.jpg"), Path("/home/anna/hill/1.jpg"))
    ('lake/1.jpg', 'hill/1.jpg')
    """
    longest = max(len(one.parts), len(other.parts))
    tails = (("/".join(one.parts[-n:]), "/".join(other.parts[-n:])) for n in range(1, longest + 1))
    return next((pair for pair in tails if pair[0] != pair[1]), (one.name, other.name))


def photo_named(what: str, name: str, files: Sequence[str]) -> int:
    """Return which of the photos is meant.

    Parameters
    ----------
    what
        The option that names it, for errors.
    name
        A path as given, or a plain file name where it is unique.
    files
        Paths of the photos.

    Raises
    ------
    UseError
        When none or several are.
    """
    wanted = Path(name).absolute()
    found = [i for i, file in enumerate(files) if file == name or Path(file).absolute() == wanted]
    found = found or [i for i, file in enumerate(files) if Path(file).name == name]
    if not found:
        raise unknown(what, name, [Path(file).name for file in files])
    if len(found) > 1:
        raise UseError(f"{what} {name!r} names {len(found)} photos; write the path of the one meant")
    return found[0]
