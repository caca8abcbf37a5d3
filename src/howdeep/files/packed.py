"""A folder of jobs as one archive with a manifest of digests, and back again.

The archive is a plain zip (PKWARE APPNOTE 6.3), so that any system opens it. It is checked whole before anything of it
is written; names that could lead out of the folder, links, and sizes beyond the bounds are refused.
"""

from __future__ import annotations

import contextlib
import datetime
import hashlib
import json
import os
import secrets
import stat
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from pathlib import Path, PurePosixPath
from typing import Any, BinaryIO

from ..errors import Fault, HowdeepError
from ..model.frozen import dataclass
from .whole import place_new, write_whole

MANIFEST = "howdeep-pack.json"
"""Name of the manifest in the archive: path -> size and SHA-256 of every file."""
NOTED = ".howdeep-packed.json"
"""Small file beside the jobs that keeps when they were packed."""
SHAPE = 1
MOST_FILES, MOST_BYTES, MOST_IN_ALL = 20_000, 200 * 1024 * 1024, 4 * 1024 * 1024 * 1024
"""Files of one archive, bytes of one file, bytes of all of them."""
MOST_OF_MANIFEST = 8 * 1024 * 1024
LONGEST = 240
"""Characters of a path in the archive."""
DAYS = 30
"""A folder that was not packed for longer is told so."""
_KEPT = 12
_CHUNK = 1024 * 1024
_ODD = frozenset('<>:"|?*\\')
_DEVICES = frozenset({"con", "prn", "aux", "nul", *(f"com{n}" for n in range(10)), *(f"lpt{n}" for n in range(10))})


@dataclass(frozen=True, slots=True)
class Packed:
    """What was put into an archive, or taken out of one."""

    files: int
    bytes: int
    left_out: tuple[str, ...] = ()
    """What was not put into it: links, and what is no file."""


def pack(folder: Path, file: Path, day: str, *, force: bool = False) -> Packed:
    """Every regular file of a folder in one archive, written whole and read again; notes the day beside the jobs.

    Raises HowdeepError: no such folder, a bound passed, a file that cannot be read, or an archive that is there already
    and `force` is false.
    """
    if not folder.is_dir():
        raise HowdeepError(Fault(str(folder), 0, 0, "there is no such folder"))
    if os.path.lexists(file) and not force:
        raise HowdeepError(Fault(str(file), 0, 0, "exists already", "use --force to replace it, or another name"))
    if os.path.lexists(file) and (file.is_symlink() or not file.is_file()):
        raise HowdeepError(Fault(str(file), 0, 0, "is a link or no file; it is not written to"))
    found, left_out = _files_of(folder, file)
    if not found:
        raise HowdeepError(Fault(str(folder), 0, 0, "holds no files to pack"))
    new = file.with_name(f".{file.name}.{os.getpid()}.{secrets.token_hex(4)}.howdeep-new")
    try:
        manifest = _written(folder, found, new, day)
        _checked(new)  # what cannot be read again is no backup
        if force:
            os.replace(new, file)
        else:
            place_new(new, file)
    except OSError as error:
        raise HowdeepError(
            Fault(error.filename or str(file), 0, 0, f"cannot be packed: {error.strerror or error}")
        ) from None
    finally:
        new.unlink(missing_ok=True)
    done = Packed(len(manifest), sum(item["size"] for item in manifest.values()), tuple(left_out))
    with contextlib.suppress(HowdeepError):  # a folder that may only be read is packed all the same
        _note(folder, day, file, done)
    return done


def _files_of(folder: Path, file: Path) -> tuple[list[str], list[str]]:
    """(regular files below a folder, what is left out), as posix paths in order. Links are not followed."""
    own, found, left_out, total = os.path.realpath(file), [], [], 0

    def told(error: OSError) -> None:
        raise HowdeepError(Fault(error.filename or str(folder), 0, 0, f"cannot be read: {error.strerror or error}"))

    for place, folders, names in os.walk(folder, onerror=told):
        here = Path(place)
        for name in [*folders, *names]:
            path = here / name
            inside = path.relative_to(folder).as_posix()
            mode = path.lstat().st_mode
            if stat.S_ISDIR(mode):
                continue
            if not stat.S_ISREG(mode):
                left_out.append(inside)
            elif (name.startswith(".") and (".howdeep-" in name)) or os.path.realpath(path) == own:
                continue  # locks, parts of files, the note of the last archive, and the archive itself
            else:
                found.append(inside)
                total += path.stat().st_size
                bad = _name_fault(inside)
                if bad or path.stat().st_size > MOST_BYTES:
                    raise HowdeepError(Fault(str(path), 0, 0, bad or f"is larger than {MOST_BYTES // _CHUNK} MB"))
        folders[:] = sorted(name for name in folders if not (here / name).is_symlink())
    if len(found) > MOST_FILES or total > MOST_IN_ALL:
        raise HowdeepError(
            Fault(
                str(folder),
                0,
                0,
                f"holds {len(found):,} files and {total // _CHUNK:,} MB: at most "
                f"{MOST_FILES:,} and {MOST_IN_ALL // _CHUNK:,} MB go into one archive",
            )
        )
    return sorted(found), sorted(left_out)


def _written(folder: Path, names: list[str], new: Path, day: str) -> dict[str, dict[str, Any]]:
    """Write the archive; the manifest stands last in it, for the digests are taken of the bytes that went in."""
    manifest: dict[str, dict[str, Any]] = {}
    with open(new, "xb") as stream:
        os.chmod(new, 0o600)  # names and telephone numbers stand in it
        with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as archive:
            for name in names:
                path = folder / name
                with open(os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0)), "rb") as source:
                    entry = zipfile.ZipInfo.from_file(path, name, strict_timestamps=False)
                    entry.compress_type = zipfile.ZIP_DEFLATED
                    total, size = hashlib.sha256(), 0
                    with archive.open(entry, "w") as target:
                        while block := source.read(_CHUNK):
                            total.update(block)
                            size += len(block)
                            target.write(block)
                manifest[name] = {"size": size, "sha256": total.hexdigest()}
            text = json.dumps({"howdeep_pack": SHAPE, "made": day, "files": manifest}, ensure_ascii=False, indent=1)
            archive.writestr(MANIFEST, text)
        stream.flush()
        os.fsync(stream.fileno())
    return manifest


def unpack(file: Path, folder: Path, *, force: bool = False) -> Packed:
    """Write the files of an archive into a folder, once the whole of it was found sound.

    Raises HowdeepError with everything that is wrong with it, and nothing is written: no archive, no manifest, a digest
    that does not agree, a name that leads elsewhere, a link on the way, or a file that is there already and differs,
    unless `force`.
    """
    with open_archive(file) as archive:
        manifest = _sound(file, archive)
        faults = [fault for name in manifest if (fault := _in_the_way(folder, name)) is not None]
        if faults:
            raise HowdeepError(faults)
        there = [name for name, entry in manifest.items() if _differs(folder / name, entry)]
        if there and not force:
            raise HowdeepError(
                [
                    Fault(
                        str(folder / name),
                        0,
                        0,
                        "exists already and is another one",
                        "use --force to replace it, or unpack into an empty folder",
                    )
                    for name in there
                ]
            )
        for name, entry in manifest.items():
            target = folder / name
            data = b"".join(_blocks(archive, name, entry["size"]))
            if hashlib.sha256(data).hexdigest() != entry["sha256"]:
                raise HowdeepError(Fault(str(file), 0, 0, f"was changed while it was read: {name}"))
            try:
                target.parent.mkdir(parents=True, exist_ok=True)
            except OSError as error:
                raise HowdeepError(
                    Fault(str(target.parent), 0, 0, f"cannot be made: {error.strerror or error}")
                ) from None
            if force or not target.exists():
                write_whole(target, data, force=force)
    return Packed(len(manifest), sum(item["size"] for item in manifest.values()))


def open_archive(file: Path) -> zipfile.ZipFile:
    """The archive in a file. Raises HowdeepError where it is none."""
    try:
        mode = os.stat(file).st_mode
        if not stat.S_ISREG(mode):
            raise HowdeepError(Fault(str(file), 0, 0, "is not a regular file"))
        return zipfile.ZipFile(file)
    except FileNotFoundError:
        raise HowdeepError(Fault(str(file), 0, 0, "there is no such file")) from None
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError, EOFError) as error:
        raise HowdeepError(
            Fault(str(file), 0, 0, f"is no archive that can be read: {getattr(error, 'strerror', None) or error}")
        ) from None


def _checked(file: Path) -> Mapping[str, Mapping[str, Any]]:
    with open_archive(file) as archive:
        return _sound(file, archive)


def _sound(file: Path, archive: zipfile.ZipFile) -> Mapping[str, Mapping[str, Any]]:
    """The manifest of an archive, all of which agrees with it. Raises HowdeepError with everything that does not."""
    faults: list[str] = []
    entries = archive.infolist()
    if len(entries) > MOST_FILES + 1:
        raise HowdeepError(Fault(str(file), 0, 0, f"holds {len(entries):,} files; at most {MOST_FILES:,} are taken"))
    names = [entry.filename for entry in entries]
    manifest = _manifest(file, archive)
    for name in sorted({name for name in names if names.count(name) > 1} if len(set(names)) < len(names) else ()):
        faults.append(f"holds '{name}' twice")
    folded: dict[str, str] = {}
    for name in manifest:
        bad = _name_fault(name)
        if bad:
            faults.append(f"'{name[:80]}' {bad}")
        elif folded.setdefault(name.casefold(), name) != name:
            faults.append(f"'{name}' and '{folded[name.casefold()]}' are one name on some systems")
    for entry in entries:
        if entry.filename != MANIFEST and entry.filename not in manifest:
            faults.append(f"holds '{entry.filename[:80]}', of which the manifest knows nothing")
        elif entry.filename in manifest and entry.file_size != manifest[entry.filename]["size"]:
            faults.append(f"'{entry.filename}' has another size than the manifest says")
        if entry.flag_bits & 1:
            faults.append(f"'{entry.filename[:80]}' is encrypted")
        kind = stat.S_IFMT(entry.external_attr >> 16)
        if kind not in (0, stat.S_IFREG):
            faults.append(f"'{entry.filename[:80]}' is a link or no file")
    faults += [f"'{name}' is missing" for name in manifest if name not in set(names)]
    if sum(entry["size"] for entry in manifest.values()) > MOST_IN_ALL:
        faults.append(f"would take more than {MOST_IN_ALL // _CHUNK:,} MB")
    if not faults:
        for name, said in manifest.items():
            total = hashlib.sha256()
            try:
                for block in _blocks(archive, name, said["size"]):
                    total.update(block)
            except HowdeepError as error:
                faults.append(f"'{name}': {error.faults[0].message}")
                continue
            if total.hexdigest() != said["sha256"]:
                faults.append(f"'{name}' is damaged: its digest is another one")
    if faults:
        raise HowdeepError([Fault(str(file), 0, 0, text, "nothing was written") for text in faults[:100]])
    return manifest


def _manifest(file: Path, archive: zipfile.ZipFile) -> dict[str, dict[str, Any]]:
    try:
        if archive.getinfo(MANIFEST).file_size > MOST_OF_MANIFEST:
            raise ValueError("it is too large")
        plain = json.loads(b"".join(_blocks(archive, MANIFEST, MOST_OF_MANIFEST)))
        if not isinstance(plain, dict) or plain.get("howdeep_pack") != SHAPE:
            raise ValueError(f"its shape is not {SHAPE}")
        files: dict[str, dict[str, Any]] = plain["files"]
        for entry in files.values():
            if (
                set(entry) != {"size", "sha256"}
                or type(entry["size"]) is not int
                or not (0 <= entry["size"] <= MOST_BYTES)
                or type(entry["sha256"]) is not str
            ):
                raise ValueError("an entry is none")
        return files
    except KeyError:
        raise HowdeepError(
            Fault(
                str(file),
                0,
                0,
                "is an archive of something else: there is no manifest in it",
                "'howdeep pack' makes one",
            )
        ) from None
    except (ValueError, TypeError, AttributeError, RecursionError) as error:
        raise HowdeepError(Fault(str(file), 0, 0, f"its manifest cannot be used: {error}")) from None


def _blocks(archive: zipfile.ZipFile, name: str, most: int) -> Iterator[bytes]:
    """The bytes of one file of an archive, and never more than it may have. Raises HowdeepError."""
    try:
        with archive.open(name) as source:
            left = most
            while block := _read(source, min(_CHUNK, left + 1)):
                left -= len(block)
                if left < 0:
                    raise HowdeepError("it is larger than it says")
                yield block
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError) as error:
        raise HowdeepError(f"it cannot be read: {error}") from None


def _read(source: BinaryIO | Any, size: int) -> bytes:
    return source.read(size)


def _name_fault(name: str) -> str:
    """Why a path is not taken into an archive or out of one; empty where it is."""
    parts = name.split("/")
    if len(name) > LONGEST:
        return f"is longer than {LONGEST} characters"
    if name == MANIFEST or PurePosixPath(name).is_absolute() or any(part in ("", ".", "..") for part in parts):
        return "is a name that leads elsewhere"
    if any(
        set(part) & _ODD
        or any(ord(letter) < 32 or 0xD800 <= ord(letter) <= 0xDFFF for letter in part)
        or part[-1] in ". "
        or part.split(".")[0].lower() in _DEVICES
        for part in parts
    ):
        return "is a name that some systems cannot keep"
    return ""


def _in_the_way(folder: Path, name: str) -> Fault | None:
    """A link, or something that is no folder or file, where a file of the archive would go."""
    here = folder
    parts = name.split("/")
    for part in parts:
        here = here / part
        try:
            mode = here.lstat().st_mode
        except FileNotFoundError:
            return None
        except OSError as error:
            return Fault(str(here), 0, 0, f"cannot be looked at: {error.strerror or error}")
        last = here == folder.joinpath(*parts)
        if stat.S_ISLNK(mode):
            return Fault(str(here), 0, 0, "is a link; nothing is written through it")
        if not (stat.S_ISREG(mode) if last else stat.S_ISDIR(mode)):
            return Fault(str(here), 0, 0, "stands where a file or a folder of the archive would go")
    return None


def _differs(path: Path, entry: Mapping[str, Any]) -> bool:
    """Whether a file is there and is another one than the archive's."""
    try:
        if path.stat().st_size != entry["size"]:
            return True
        return bool(hashlib.sha256(path.read_bytes()).hexdigest() != entry["sha256"])
    except FileNotFoundError:
        return False
    except OSError:
        return True


# --- when it was packed ---


def _note(folder: Path, day: str, file: Path, done: Packed) -> None:
    kept = [*_noted(folder), {"day": day, "file": file.name, "files": done.files, "bytes": done.bytes}][-_KEPT:]
    text = json.dumps({"howdeep_packed": SHAPE, "packed": kept}, ensure_ascii=False, indent=1)
    write_whole(folder / NOTED, text.encode())


def _noted(folder: Path) -> list[dict[str, Any]]:
    """The days on which a folder was packed; none where the note is missing or damaged."""
    try:
        plain = json.loads((folder / NOTED).read_bytes()[:100_000])
        return [item for item in plain["packed"] if isinstance(item, dict) and _day(item.get("day"))]
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return []


def _day(text: Any) -> datetime.date | None:
    try:
        return datetime.date.fromisoformat(text)
    except (TypeError, ValueError):
        return None


def unpacked_word(folder: Path, today: str) -> str:
    """That a folder with jobs was not packed for a month; empty where it was, or where its jobs are younger."""
    now = datetime.date.fromisoformat(today)
    days = [day for item in _noted(folder) if (day := _day(item["day"])) is not None]
    if days:
        since = (now - max(days)).days
        told = f"These jobs were last packed {since} days ago"
    else:
        oldest = min((path.lstat().st_mtime for path in folder.glob("*.yaml") if not path.is_symlink()), default=None)
        if oldest is None:
            return ""
        since = (now - datetime.date.fromtimestamp(oldest)).days
        told = "These jobs were never packed"
    return "" if since <= DAYS else f"{told}: 'howdeep pack FOLDER FILE.zip' makes one file to keep elsewhere."
